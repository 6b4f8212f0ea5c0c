"""Practice list from a piece: its open notes, the most pressing first or in the order of bars, or
what is for today on the way to the concert; or what went wrong in a run-through.

What a note is played with is its composer's fingering if that waits to be tried, else the best one
that waits for a recording.
"""

from enum import StrEnum

from sqlalchemy.orm import Session

from webapp.notebook.pieces.day_lists import MINUTES, list_days
from webapp.notebook.pieces.pieces import load_piece
from webapp.notebook.pieces.run_throughs import open_run
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.practice.practice import PracticeDraft, find_current_practice, start_practice
from webapp.notebook.practice.practice_targets import (
    TARGETS_AT_MOST,
    Wanted,
    append_wanted,
    load_targets,
)
from webapp.notebook.store.clock import today
from webapp.notebook.store.errors import Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_open_practice
from webapp.notebook.store.rows import Piece
from webapp.notebook.targets.standing import Standing


class ListOrder(StrEnum):
    """Which notes of a piece go on the list, and in which order."""

    PRESSING = "pressing"
    BARS = "bars"
    TODAY = "today"


def practise_piece(
    notebook: Notebook,
    piece_id: int,
    instrument_id: int,
    *,
    order: ListOrder = ListOrder.PRESSING,
    minutes: int = MINUTES,
) -> tuple[int, int]:
    """Put notes of a piece on the list of the open practice, or of one that begins now.

    The open ones, as many as the list has room for, the most pressing first or in the order of
    bars; or what is for today, by `day_lists`, in so many minutes.

    Returns:
        The number of the practice, and how many notes are new on its list.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        Refused: nothing is open, or all of it is on the list already.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        page = load_piece(session, notebook, piece, instrument_id)
    notes = page.todo.open_notes
    if order is ListOrder.TODAY and page.days_left:
        notes = list_days(page.todo.notes, today(), page.days_left, minutes=minutes)[0].notes
    if not notes:
        raise Refused("Nothing of this piece is open on this instrument.")
    practice_id = _find_or_start(notebook, instrument_id)
    with notebook.database.writing() as session:
        room = _find_room(session, practice_id)
        chosen = sorted(notes[:room], key=_first_place) if order is ListOrder.BARS else notes[:room]
        wanted = [Wanted(each.need.written.canonical, find_to_play(each)) for each in chosen]
        return practice_id, append_wanted(session, practice_id, wanted)


def practise_run(
    notebook: Notebook, piece_id: int, run_id: int, tolerance_cents: float
) -> tuple[int, int]:
    """Put what was out of tune, wrong or not heard in a run-through on the list, as a piece does.

    Returns:
        The number of the practice, and how many notes are new on its list.

    Raises:
        NotInNotebook: there is no such piece, or it has no such run-through.
        Refused: everything was in tune, or all of it is on the list already.
    """
    page = open_run(notebook, piece_id, run_id)
    notes = page.find_to_practise(tolerance_cents)
    if not notes:
        raise Refused("Every note of this run-through was heard, and none was out of tune.")
    practice_id = _find_or_start(notebook, page.instrument.id)
    with notebook.database.writing() as session:
        chosen = notes[: _find_room(session, practice_id)]
        return practice_id, append_wanted(session, practice_id, [Wanted(each) for each in chosen])


def _find_or_start(notebook: Notebook, instrument_id: int) -> int:
    current = find_current_practice(notebook, instrument_id)
    return current.id if current else start_practice(notebook, instrument_id, PracticeDraft())


def _find_room(session: Session, practice_id: int) -> int:
    fetch_open_practice(session, practice_id)
    return max(1, TARGETS_AT_MOST - len(load_targets(session, practice_id)))


def _first_place(note: TodoNote) -> tuple[int, float]:
    return note.need.bars[0], float(note.need.written.cents)


def find_to_play(note: TodoNote) -> int | None:
    """Return the fingering that is to be tried for a note: the composer's first; None for any."""
    if note.to_try is not None:
        return note.to_try.fingering_id
    best = note.best
    if best is not None and best.standing is Standing.NOT_TRIED:
        return best.facts.fingering_id
    return None
