"""Day by day to the concert: every note has its turn, high ones in small doses."""

from __future__ import annotations

from datetime import date

import pytest

from analysis.pitch import Register, register_of
from tests.webapp.logging_rows import log
from tests.webapp.notebook.pieces.filling import add_typed_piece, written
from webapp.notebook.pieces.day_lists import MOST_DAYS, list_days
from webapp.notebook.pieces.decisions import settle
from webapp.notebook.pieces.pieces import open_piece
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Settlement

TODAY = date(2026, 3, 2)
LOW = [f"{letter}{octave} +50" for octave in (4, 5) for letter in "CDEFGAB"]
HIGH = [f"{letter}6 +50" for letter in "DEFGA"]


@pytest.fixture
def notes(notebook: Notebook, clarinet: int) -> tuple[TodoNote, ...]:
    """Nineteen open quarter tones, five of them in the altissimo, and one that is settled."""
    piece = add_typed_piece(notebook, clarinet, text="1: " + ", ".join([*LOW, *HIGH, "B3 +50"]))
    settle(notebook, piece, clarinet, written("B3+50c"), Settlement.LIP)
    return open_piece(notebook, piece, clarinet).todo.notes


def test_every_open_note_has_its_turn_and_none_twice_a_day(notes: tuple[TodoNote, ...]) -> None:
    days = list_days(notes, TODAY, 8)
    assert [each.on.day for each in days] == list(range(2, 10))
    for day in days:
        names = [each.need.written.canonical for each in day.notes]
        assert len(names) == len(set(names)) == 10
        assert "B3+50c" not in names
        assert sum(register_of(each.need.written) is Register.ALTISSIMO for each in day.notes) == 3
        assert day.has_high_notes
    played = {each.need.written.canonical for day in days for each in day.notes}
    assert len(played) == 19


def test_a_day_stays_as_it_was_told_the_days_before(notes: tuple[TodoNote, ...]) -> None:
    told = list_days(notes, TODAY, 8)[3]
    assert list_days(notes, told.on, 5)[0] == told


def test_a_concert_in_a_thousand_years_is_shared_out_as_far_as_it_is_shown(
    notes: tuple[TodoNote, ...],
) -> None:
    assert len(list_days(notes, TODAY, 365_000)) == MOST_DAYS


def test_more_minutes_hold_more_notes_and_wrong_ones_are_refused(
    notes: tuple[TodoNote, ...],
) -> None:
    (day,) = list_days(notes, TODAY, 1, minutes=40)
    assert len(day.notes) == 19
    assert list_days(notes, TODAY, 0) == ()
    with pytest.raises(ValueError, match="5 to 120"):
        list_days(notes, TODAY, 1, minutes=4)


def test_what_is_in_tune_fills_the_room_that_is_left(
    notebook: Notebook, clarinet: int, notes: tuple[TodoNote, ...]
) -> None:
    del notes
    piece = add_typed_piece(notebook, clarinet, text="1: D5 -50, E5 -50")
    log(notebook, clarinet, "D5 -50", "T R 12-")
    todo = open_piece(notebook, piece, clarinet).todo
    (day,) = list_days(todo.notes, TODAY, 1)
    assert set(day.notes) == {each for each in todo.notes if not each.is_done or each.is_solved}
