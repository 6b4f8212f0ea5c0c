"""From what a player asks for to the note to play."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    KINDS,
    Frequency,
    JustInterval,
    JustTarget,
    PitchOutOfRange,
    Side,
    SoundingPitch,
    Transposition,
    Tuning,
    WrittenPitch,
    resolve_written,
)
from tests.analysis.pitch.strategies import tunings, written_pitches

B_FLAT = Transposition(-200)
A440 = Tuning(440.0)


def resolve_over(root: str, ratio: tuple[int, int], side: Side = Side.NEAREST) -> WrittenPitch:
    target = JustTarget(WrittenPitch.from_canonical(root), JustInterval(*ratio))
    return resolve_written(target, transposition=B_FLAT, tuning=A440, side=side)


@given(written_pitches, st.sampled_from(Side))
def test_a_written_pitch_stays_as_it_is_spelled(written: WrittenPitch, side: Side) -> None:
    assert resolve_written(written, transposition=B_FLAT, tuning=A440, side=side) is written


@given(st.floats(min_value=60.0, max_value=2500.0), tunings, st.sampled_from(sorted(KINDS)))
def test_a_frequency_is_what_is_heard(hz: float, tuning: Tuning, kind_id: str) -> None:
    transposition = KINDS[kind_id].transposition
    written = resolve_written(Frequency(hz), transposition=transposition, tuning=tuning)
    heard = transposition.to_sounding(written)
    assert heard.cents == pytest.approx(SoundingPitch.from_hz(hz, tuning).cents, abs=0.0006)


def test_the_tuning_note_is_written_b4_on_the_b_flat_soprano() -> None:
    # Common practice, from memory.
    written = resolve_written(Frequency(442.0), transposition=B_FLAT, tuning=Tuning(442.0))
    assert written.canonical == "B4"


# A just major third is about 14 cents low and a minor third about 16 high: common practice, from
# memory; the thousandths follow from 1200 x log2(5/4) = 386.314 and 1200 x log2(6/5) = 315.641.
@pytest.mark.parametrize(
    ("root", "ratio", "letter", "alter_cents"),
    [
        ("F4", (5, 4), "A", Fraction(-13686, 1000)),
        ("A4", (6, 5), "C", Fraction(15641, 1000)),
        ("B4", (5, 4), "D", Fraction(86314, 1000)),
        ("Gb4", (5, 4), "B", Fraction(-113686, 1000)),
        ("D5", (2, 3), "G", Fraction(-1955, 1000)),
        ("C4", (3, 1), "G", Fraction(1955, 1000)),
    ],
)
def test_a_just_interval_is_spelled_by_its_name(
    root: str, ratio: tuple[int, int], letter: str, alter_cents: Fraction
) -> None:
    resolved = resolve_over(root, ratio)
    assert (resolved.letter, resolved.alter_cents) == (letter, alter_cents)


@pytest.mark.parametrize(("root", "letter"), [("C#5", "F"), ("D#5", "G")])
def test_a_plain_letter_is_preferred_to_an_unusual_one(root: str, letter: str) -> None:
    assert resolve_over(root, (5, 4)).letter == letter


def test_a_side_overrules_the_name_of_the_interval() -> None:
    assert resolve_over("B4", (5, 4), Side.FLAT).letter == "E"


def test_an_interval_without_a_name_is_spelled_by_height() -> None:
    # 1200 x log2(17/16) = 104.955: closed formula.
    assert resolve_over("C5", (17, 16)).canonical == "C#5+991/200c"


@given(written_pitches.filter(lambda root: 2 <= root.octave <= 7), st.sampled_from(Side))
def test_a_just_target_lies_its_interval_from_the_root(root: WrittenPitch, side: Side) -> None:
    for interval in (JustInterval(5, 4), JustInterval(5, 6), JustInterval(11, 8)):
        target = JustTarget(root, interval)
        resolved = resolve_written(target, transposition=B_FLAT, tuning=A440, side=side)
        assert float(root.interval_to(resolved)) == pytest.approx(interval.cents, abs=0.0006)


@pytest.mark.parametrize("hz", [0.0, 7.9, 20_001.0, math.nan, math.inf])
def test_a_frequency_no_clarinet_plays_is_refused(hz: float) -> None:
    with pytest.raises(PitchOutOfRange, match="no note of a clarinet"):
        Frequency(hz)


def test_a_target_above_the_writable_octaves_is_refused() -> None:
    with pytest.raises(PitchOutOfRange, match="Octaves run from 0 to 9"):
        resolve_over("B9", (3, 2))
