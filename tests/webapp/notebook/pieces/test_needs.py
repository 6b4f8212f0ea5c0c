"""What a part asks: distinct notes, how closely they have to be in tune, and what stands apart."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from analysis.pitch import Transposition, WrittenPitch
from analysis.score import ReadingSettings, ScorePart, parse_typed_part, to_transcript
from tests.analysis.notation.scores import (
    attributes,
    bar,
    note,
    score,
    transcribe,
    transpose,
    words,
)
from webapp.notebook.pieces.needs import (
    MULTIPHONIC,
    NOT_WRITABLE,
    OTHER_INSTRUMENT,
    Closeness,
    NoteNeed,
    PartNeeds,
    collect_needs,
    is_just,
    name_bars,
    read_part_for,
)

SOPRANO, IN_A, BASS_TREBLE, BASS_CLEF = (Transposition(each) for each in (-200, -300, -1400, -200))
TRILL = "<ornaments><trill-mark/><accidental-mark>quarter-flat</accidental-mark></ornaments>"
SECOND_LENGTH = '"1/4=60"'  # a quarter note lasts a second


def read_typed(text: str, transposition: Transposition = SOPRANO) -> ScorePart:
    return read_part_for(to_transcript(parse_typed_part(text)), ReadingSettings(), transposition)


def need_typed(text: str) -> PartNeeds:
    return collect_needs(read_typed(text), SOPRANO)


def by_name(needs: PartNeeds) -> dict[str, NoteNeed]:
    return {each.written.canonical: each for each in needs.notes}


def closeness_of(text: str) -> Closeness:
    return by_name(need_typed(text))["D5-50c"].closeness


def test_a_note_is_gathered_from_everywhere() -> None:
    text = f'12: D5 -50 (1/4) {SECOND_LENGTH} "pp", E5~D5 -50 (1/2) | 13: r | D5 -50 (1/8) "ff"'
    found = by_name(need_typed(text))
    assert list(found) == ["D5-50c", "E5"]
    need = found["D5-50c"]
    assert (need.count, need.bars) == (3, (0, 2))
    assert (need.slurred_count, need.tongued_count) == (1, 2)
    assert (need.shortest_quarters, need.longest_quarters) == (Fraction(1, 2), Fraction(2))
    assert (need.shortest_s, need.longest_s) == (0.5, 2.0)
    assert need.dynamics == ("pp", "ff")


def test_one_height_is_one_note_however_it_is_spelled() -> None:
    (need,) = need_typed("D5 -50, C#5 +50").notes
    assert (need.written.canonical, need.count) == ("D5-50c", 2)


@pytest.mark.parametrize(
    ("text", "closeness"),
    [
        (f"D5 -50 (1/2) {SECOND_LENGTH}", Closeness.HELD),  # 2 s
        (f"D5 -50 (1/2) {SECOND_LENGTH.replace('60', '61')}", Closeness.USUAL),
        (f"D5 -50 (3/40) {SECOND_LENGTH}", Closeness.USUAL),  # 0.3 s
        (f"D5 -50 (1/16) {SECOND_LENGTH}", Closeness.SHORT),
        ("D5 -50 (4)", Closeness.USUAL),  # no tempo, so nobody knows
        ("gr D5 -50", Closeness.SHORT),
        (f"tr D5 -50/E5 (1) {SECOND_LENGTH}", Closeness.SHORT),
        (f"tr C5/D5 -50 (1) {SECOND_LENGTH}", Closeness.SHORT),
        (f"trem A4/D5 -50 (1) {SECOND_LENGTH}", Closeness.SHORT),
        (f"D5 -50 (1/16) {SECOND_LENGTH}, D5 -50 (1), D5 -50 (1/4)", Closeness.HELD),
    ],
)
def test_how_closely_by_the_closest_place(text: str, closeness: Closeness) -> None:
    assert closeness_of(text) is closeness


def test_a_trill_of_colour_is_held_at_its_pitch() -> None:
    mark = "<ornaments><trill-mark/></ornaments>"
    content = score(bar(words("bisbigliando"), note("D5 -0.5", duration=4, notations=mark)))
    part = read_part_for(transcribe(content), ReadingSettings(), SOPRANO)
    (need,) = collect_needs(part, SOPRANO).notes
    assert (need.closeness, need.alternating_count) == (Closeness.HELD, 0)


def test_a_fermata_is_held_however_short_it_is_written() -> None:
    content = score(bar(note("D5 -0.5", notations="<fermata/>"), note("E5 -0.5")))
    part = read_part_for(transcribe(content), ReadingSettings(), SOPRANO)
    found = by_name(collect_needs(part, SOPRANO))
    assert [each.closeness for each in found.values()] == [Closeness.HELD, Closeness.USUAL]


def test_a_just_interval_is_known_by_its_cents() -> None:
    found = by_name(need_typed("5:4 above F4, D5 -50, gr 7:4 above C4"))
    assert [each.closeness for each in found.values()] == [
        Closeness.JUST, Closeness.USUAL, Closeness.SHORT,
    ]  # fmt: skip


# Sizes by their definition, 1200 log2 of the ratio.
@pytest.mark.parametrize("ratio", [Fraction(5, 4), Fraction(7, 4), Fraction(11, 8), Fraction(3, 2)])
def test_just_intervals_up_and_down_from_a_semitone(ratio: Fraction) -> None:
    size = 1200 * math.log2(ratio)
    assert is_just(WrittenPitch.from_cents(6500 + size))
    assert is_just(WrittenPitch.from_cents(6500 - size))


@pytest.mark.parametrize("parts", [1, 2, 3, 4, 5, 6, 7, 8, 12])
def test_equal_parts_of_a_semitone_are_no_just_intervals(parts: int) -> None:
    for step in range(parts):
        pitch = WrittenPitch.from_cents(6900 + Fraction(100 * step, parts))
        assert not is_just(pitch), pitch


def test_tolerances_start_from_the_usual_one() -> None:
    tolerances = {each: each.tolerance_cents(10) for each in Closeness}
    assert list(tolerances.values()) == [5, 5, 10, 20]
    assert [each.tolerance_cents(3) for each in Closeness] == [3, 3, 3, 20]
    assert [each.tolerance_cents(30) for each in Closeness] == [5, 5, 30, 30]


def test_both_notes_of_a_trill_count() -> None:
    found = by_name(need_typed("13: tr D5/Dqf5 (1/2) | trem A4/Eqf5"))
    assert list(found) == ["D5", "D5-50c", "A4", "E5-50c"]
    assert all(each.alternating_count == each.count == 1 for each in found.values())
    assert found["D5"].tongued_count == 1
    assert found["D5-50c"].slurred_count == 1


def test_a_file_with_everything() -> None:
    first = (note("D5 -0.5", "quarter-flat", duration=8), note("E5", notations=TRILL))
    chord = (note("C5"), note("G5 0.5", more="<chord/>"))
    tied = note("B4 0.5", duration=4, more='<tie type="start"/>')
    end = note("B4 0.5", duration=4, more='<tie type="stop"/>')
    content = score(
        bar(*first, number="X1"),
        bar(words("slap"), *chord, tied, number=""),
        bar(end, note("G5", before="<cue/>"), number="7"),
        tempo="120",
    )
    part = read_part_for(transcribe(content), ReadingSettings(), SOPRANO)
    needs = collect_needs(part, SOPRANO)
    found = by_name(needs)
    assert list(found) == ["D5-50c", "E5", "F5-50c", "B4+50c"]
    assert found["D5-50c"].longest_s == 4.0
    assert (found["B4+50c"].count, found["B4+50c"].bars) == (1, (1,))
    assert found["B4+50c"].longest_quarters == 8
    apart = {each.what: each for each in needs.apart}
    assert set(apart) == {MULTIPHONIC, "slap", "cue notes"}
    assert [each.canonical for each in apart[MULTIPHONIC].written] == ["C5", "G5+50c"]
    assert apart[MULTIPHONIC].bars == apart["slap"].bars == (1,)
    assert (apart["cue notes"].count, apart["cue notes"].bars) == (1, (2,))


def test_equal_multiphonics_with_one_fingering_are_one_line() -> None:
    chords = need_typed("C5 & A5 [T R 12 | 1] | C5 & A5 [T R 12 | 1], C5 & A5 | C5 -50")
    first, second = chords.apart
    assert (first.count, first.bars, first.fingerings) == (2, (0, 1), ("T R 12 | 1",))
    assert (second.count, second.bars, second.fingerings) == (1, (1,), ())


def test_a_typed_part_is_for_the_instrument_that_is_asked_for() -> None:
    for transposition in (SOPRANO, IN_A, BASS_TREBLE):
        part = read_typed("D5 -50", transposition)
        (need,) = collect_needs(part, transposition).notes
        assert need.written.canonical == "D5-50c"
        assert part.notes[0].sounding.cents == 7350 + transposition.cents


def test_a_change_to_another_clarinet_stands_apart() -> None:
    content = score(
        bar(note("D5 -0.5"), number="1"),
        bar(attributes(transpose("-2 -3")), note("E5 0.5"), number="2"),
    )
    part = read_part_for(transcribe(content), ReadingSettings(), SOPRANO)
    on_b_flat, on_a = (collect_needs(part, each) for each in (SOPRANO, IN_A))
    assert list(by_name(on_b_flat)) == ["D5-50c"]
    assert list(by_name(on_a)) == ["E5+50c"]
    assert [(each.what, each.bars) for each in on_b_flat.apart] == [(OTHER_INSTRUMENT, (1,))]
    assert [(each.what, each.bars) for each in on_a.apart] == [(OTHER_INSTRUMENT, (0,))]


def test_bass_clarinet_in_the_other_notation_is_moved_by_an_octave() -> None:
    """Treble notation stands a ninth above what sounds, bass-clef notation a second."""
    content = score(bar(note("D3 0.5")), transposition="-1 -2", name="Bass clarinet")
    part = read_part_for(transcribe(content), ReadingSettings(), BASS_TREBLE)
    (need,) = collect_needs(part, BASS_TREBLE).notes
    assert need.written.canonical == "D4+50c"
    assert BASS_TREBLE.to_sounding(need.written).cents == part.notes[0].sounding.cents


def test_a_name_that_fits_gives_way_to_the_instrument() -> None:
    """A bass clarinet's part without transposition is in the notation of the player's own."""
    content = score(bar(note("D4 0.5")), transposition=None, name="Bass clarinet")
    for transposition in (BASS_TREBLE, BASS_CLEF):
        part = read_part_for(transcribe(content), ReadingSettings(), transposition)
        (need,) = collect_needs(part, transposition).notes
        assert need.written.canonical == "D4+50c"


def test_what_the_instrument_cannot_write_stands_apart() -> None:
    part = read_typed("C0 +50, C4 +50", Transposition(-1400))
    needs = collect_needs(part, Transposition(-200))
    assert [each.what for each in needs.apart] == [NOT_WRITABLE]
    assert [each.written.canonical for each in needs.notes] == ["C3+50c"]


@pytest.mark.parametrize(
    ("bars", "words"),
    [((), ""), ((0,), "12"), ((0, 1), "12, (2)"), ((0, 1, 2), "12-X1"), ((3, 0, 3), "12, 13")],
)
def test_bars_are_named_by_their_printed_numbers(bars: tuple[int, ...], words: str) -> None:
    labels = ("12", "", "X1", "13")
    content = score(*(bar(note("D5"), number=label) for label in labels))
    part = read_part_for(transcribe(content), ReadingSettings(), SOPRANO)
    assert name_bars(bars, part) == words
