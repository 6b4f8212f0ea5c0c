"""Matching by hand: what players do, note by note."""

import pytest

from analysis.performance import ExpectedNote, ExpectedPassage, NoteEvent, match_events

LINE = (6900, 7000, 7200, 7100, 7400, 7300, 7600, 7500)


def make_line(*heights: float, seams: tuple[tuple[int, int], ...] = ()) -> ExpectedPassage:
    """Quarter notes of half a second, in bars of four."""
    notes = tuple(
        ExpectedNote(height, float(at), 1.0, begins_bar=at % 4 == 0)
        for at, height in enumerate(heights or LINE)
    )
    return ExpectedPassage(notes, 0.5, seams)


def play(
    *heights: float, pause_before: int | None = None, length_s: float = 0.5
) -> list[NoteEvent]:
    """Events of equal length; a silence of a second before one of them."""
    events, now_s = [], 0.0
    for at, height in enumerate(heights):
        gap_s = 1.0 if at == pause_before else 0.0
        now_s += gap_s
        events.append(NoteEvent(now_s, now_s + length_s, height, gap_s, 0.0))
        now_s += length_s
    return events


@pytest.mark.parametrize(
    ("played", "places"),
    [
        (LINE, (0, 1, 2, 3, 4, 5, 6, 7)),
        ((6900, 7000, 8100, 7100, 7400), (0, 1, 2, 3, 4)),  # a wrong note at its place
        ((6900, 7000, 7100, 7400, 7300), (0, 1, 3, 4, 5)),  # one left out
        ((7400, 7300, 7600, 7500), (4, 5, 6, 7)),  # from the second bar on
        ((6920, 7022, 7219, 7118, 7421), (0, 1, 2, 3, 4)),  # all sharp
    ],
)
def test_each_note_finds_its_place(played: tuple[float, ...], places: tuple[int, ...]) -> None:
    assert match_events(play(*played), make_line()).places == places


def test_after_a_stop_the_bar_begins_again() -> None:
    events = play(*LINE[:6], *LINE[4:], pause_before=6)
    assert match_events(events, make_line()).places == (0, 1, 2, 3, 4, 5, 4, 5, 6, 7)


def test_a_blip_between_two_notes_is_no_note() -> None:
    events = play(*LINE[:3])
    blip = NoteEvent(1.0, 1.05, 8000.0, 0.0, 0.0)
    late = NoteEvent(1.05, 1.5, 7200.0, 0.0, 0.0)
    assert match_events([*events[:2], blip, late], make_line()).places == (0, 1, None, 2)


def test_a_repeat_goes_back_along_its_seam() -> None:
    heights = (6900, 7000, 6900, 7000, 7300)
    events = play(6900, 7000, 6900, 7000, 6900, 7000, 6900, 7000, 7300)
    match = match_events(events, make_line(*heights, seams=((3, 0),)))
    assert match.places == (0, 1, 2, 3, 0, 1, 2, 3, 4)


def test_a_trill_takes_all_its_notes() -> None:
    trill = ExpectedNote(7000.0, 1.0, 2.0, other_cents=7150.0)
    notes = (ExpectedNote(6900.0, 0.0, 1.0), trill, ExpectedNote(6800.0, 3.0, 1.0))
    events = play(6900, *(7000, 7150) * 5, 6800, length_s=0.1)
    assert match_events(events, ExpectedPassage(notes, 0.5)).places == (0, *(1,) * 10, 2)


def test_what_is_common_to_all_is_told() -> None:
    match = match_events(play(*(each + 14 for each in LINE), length_s=0.6), make_line())
    assert match.common_cents == pytest.approx(14)
    assert match.tempo_share == pytest.approx(1.2)


def test_nothing_played_matches_nothing() -> None:
    assert match_events([], make_line()).places == ()
