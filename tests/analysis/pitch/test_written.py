"""Written pitch: exact fields, canonical text, spelling."""

import math
from fractions import Fraction

import pytest
from hypothesis import given

from analysis.pitch import PitchOutOfRange, Side, UnreadablePitch, WrittenPitch
from analysis.pitch.written import round_to_millicent, split_alter
from tests.analysis.pitch.strategies import alters_cents, exact_heights, written_pitches


def pitch(text: str) -> WrittenPitch:
    return WrittenPitch.from_canonical(text)


# MIDI 1.0 note numbers with C4 = 60, times 100: a published convention, from memory.
@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("C0", 1200),
        ("E3", 5200),
        ("C4", 6000),
        ("F##4", 6700),
        ("A4", 6900),
        ("Bb4", 7000),
        ("B4", 7100),
        ("Cb5", 7100),
        ("B#4", 7200),
        ("C7", 9600),
        ("G9", 12700),
    ],
)
def test_height_is_a_hundred_times_the_midi_number(text: str, cents: int) -> None:
    assert pitch(text).cents == cents


@given(written_pitches)
def test_canonical_text_reads_back_exactly(written: WrittenPitch) -> None:
    assert WrittenPitch.from_canonical(written.canonical) == written


@pytest.mark.parametrize(
    ("letter", "alter_cents", "canonical"),
    [
        ("D", Fraction(0), "D5"),
        ("C", Fraction(100), "C#5"),
        ("B", Fraction(-100), "Bb5"),
        ("D", Fraction(-50), "D5-50c"),
        ("D", Fraction(50), "D5+50c"),
        ("C", Fraction(125), "C#5+25c"),
        ("C", Fraction(150), "C#5+50c"),
        ("D", Fraction(50, 3), "D5+50/3c"),
        ("D", Fraction(-75), "Db5+25c"),
        ("C", Fraction(250), "C##5+50c"),
        ("C", Fraction(-250), "Cbb5-50c"),
    ],
)
def test_canonical_text_counts_from_the_nearest_semitone(
    letter: str, alter_cents: Fraction, canonical: str
) -> None:
    assert WrittenPitch(letter, alter_cents, 5).canonical == canonical


@pytest.mark.parametrize("text", ["", "d5", "H4", "D", "D10", "D5-50", "D5+1/0c", "D5 ", "D#b5"])
def test_text_that_is_not_canonical_is_refused(text: str) -> None:
    with pytest.raises(UnreadablePitch, match="not a stored pitch"):
        WrittenPitch.from_canonical(text)


def test_a_letter_outside_a_to_g_is_refused() -> None:
    with pytest.raises(PitchOutOfRange, match="no note letter 'H'"):
        WrittenPitch("H", Fraction(0), 4)


@pytest.mark.parametrize("octave", [-1, 10])
def test_an_octave_outside_0_to_9_is_refused(octave: int) -> None:
    with pytest.raises(PitchOutOfRange, match="Octaves run from 0 to 9"):
        WrittenPitch("C", Fraction(0), octave)


@pytest.mark.parametrize("alter_cents", [Fraction(-2501, 10), Fraction(251)])
def test_an_alteration_beyond_250_cents_is_refused(alter_cents: Fraction) -> None:
    with pytest.raises(PitchOutOfRange, match="At most 250 cents"):
        WrittenPitch("C", alter_cents, 4)


@given(alters_cents)
def test_a_split_alteration_adds_up_and_leaves_at_most_a_quarter_tone(
    alter_cents: Fraction,
) -> None:
    semitones, rest_cents = split_alter(alter_cents)
    assert 100 * semitones + rest_cents == alter_cents
    assert abs(rest_cents) <= 50


# The twelve usual names and the quarter tones between them: common practice, from memory.
USUAL = (
    "C5 C5+50c C#5 D5-50c D5 D5+50c Eb5 E5-50c E5 E5+50c F5 F5+50c "
    "F#5 G5-50c G5 G5+50c G#5 A5-50c A5 A5+50c Bb5 B5-50c B5 B5+50c"
)
SHARP = (
    "C5 C5+50c C#5 C#5+50c D5 D5+50c D#5 D#5+50c E5 E5+50c F5 F5+50c "
    "F#5 F#5+50c G5 G5+50c G#5 G#5+50c A5 A5+50c A#5 A#5+50c B5 B5+50c"
)
FLAT = (
    "C5 Db5-50c Db5 D5-50c D5 Eb5-50c Eb5 E5-50c E5 F5-50c F5 Gb5-50c "
    "Gb5 G5-50c G5 Ab5-50c Ab5 A5-50c A5 Bb5-50c Bb5 B5-50c B5 C6-50c"
)


@pytest.mark.parametrize(
    ("side", "expected"), [(Side.NEAREST, USUAL), (Side.SHARP, SHARP), (Side.FLAT, FLAT)]
)
def test_quarter_tones_are_named_by_the_side(side: Side, expected: str) -> None:
    named = [WrittenPitch.from_cents(7200 + 50 * step, side).canonical for step in range(24)]
    assert named == expected.split()


@given(exact_heights)
def test_every_spelling_keeps_the_height_exactly(cents: Fraction) -> None:
    for side in Side:
        assert WrittenPitch.from_cents(cents, side).cents == cents


@given(exact_heights)
def test_the_sides_raise_from_below_and_lower_from_above(cents: Fraction) -> None:
    assert WrittenPitch.from_cents(cents, Side.SHARP).alter_cents > -50
    assert WrittenPitch.from_cents(cents, Side.FLAT).alter_cents < 50


@given(exact_heights)
def test_respelling_there_and_back_gives_the_same_name(cents: Fraction) -> None:
    usual = WrittenPitch.from_cents(cents)
    for side in Side:
        assert usual.respelled(side).respelled(Side.NEAREST) == usual


@given(exact_heights)
def test_all_spellings_have_one_height_and_different_letters(cents: Fraction) -> None:
    usual = WrittenPitch.from_cents(cents)
    spellings = usual.spellings()
    assert spellings[0] == usual
    assert {spelling.cents for spelling in spellings} == {cents}
    assert len({spelling.letter for spelling in spellings}) == len(spellings)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("C#5", ["C#5", "Db5"]),
        ("E5", ["E5", "Fb5"]),
        ("C5", ["C5", "B#4"]),
        ("D5-50c", ["D5-50c", "C#5+50c"]),
        ("E5+50c", ["E5+50c", "F5-50c"]),
        ("F##5", ["G5", "F##5"]),
        ("B9", ["B9"]),
    ],
)
def test_spellings_start_with_the_usual_name(text: str, expected: list[str]) -> None:
    assert [spelling.canonical for spelling in pitch(text).spellings()] == expected


def test_a_measured_height_is_rounded_to_a_thousandth_of_a_cent() -> None:
    assert WrittenPitch.from_cents(7349.99964).canonical == "D5-50c"


@pytest.mark.parametrize("cents", [math.nan, math.inf, -math.inf])
def test_a_height_that_is_no_number_is_refused(cents: float) -> None:
    with pytest.raises(PitchOutOfRange, match="finite number"):
        round_to_millicent(cents)


def test_a_height_above_the_last_octave_is_refused() -> None:
    with pytest.raises(PitchOutOfRange, match="Octaves run from 0 to 9"):
        WrittenPitch.from_cents(13_200)


# Quarter tones by venting and closing keys: common practice, from memory.
@pytest.mark.parametrize(
    ("base", "cents", "target"),
    [("F#5", 50, "G5-50c"), ("E5", -50, "E5-50c"), ("C#5", 50, "D5-50c")],
)
def test_a_raised_or_lowered_note_reaches_its_target(base: str, cents: int, target: str) -> None:
    moved = pitch(base).raised_by(cents)
    assert moved.letter == base[0]
    assert moved.interval_to(pitch(target)) == 0
    assert moved.respelled(Side.NEAREST) == pitch(target)


def test_a_note_cannot_be_raised_beyond_its_letter() -> None:
    with pytest.raises(PitchOutOfRange, match="use another note name"):
        pitch("C#5").raised_by(151)


@given(written_pitches, written_pitches)
def test_interval_and_difference_agree(first: WrittenPitch, second: WrittenPitch) -> None:
    assert first.interval_to(second) == second - first == second.cents - first.cents


@given(written_pitches)
def test_a_pitch_to_be_read_is_within_a_twentieth_of_a_cent(written: WrittenPitch) -> None:
    shown = written.to_be_read()
    assert abs(shown.cents - written.cents) <= Fraction(1, 20)
    assert shown.to_be_read() == shown
    assert shown.alter_cents.denominator <= 10
