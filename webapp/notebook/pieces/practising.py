"""Practice list from a piece: its open notes, the most pressing first, then its worst changes as
loops; or both in the order of bars; or what is for today on the way to the concert; or what went
wrong in a run-through.

Changes that no loop was recorded of come before those that are measured already. What a note is
played with is its composer's fingering if that waits to be tried, else the best one that waits for
a recording.
"""

from enum import StrEnum

from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from webapp.notebook.pieces.day_lists import MINUTES, list_days
from webapp.notebook.pieces.fingered import FingeringWishes, finger_bars
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.passage_steps import AwkwardWay
from webapp.notebook.pieces.pieces import PiecePage, load_piece
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
from webapp.notebook.store.rows import LoopPair, Piece
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

    The open ones, as many as the list has room for, the most pressing first, and behind them the
    worst changes as loops; or both in the order of bars; or the notes for today, by `day_lists`, in
    so many minutes.

    Returns:
        The number of the practice, and how many notes and loops are new on its list.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        Refused: nothing is open, or all of it is on the list already.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        page = load_piece(session, notebook, piece, instrument_id)
        loops: list[tuple[int, Wanted]] = []
        if order is not ListOrder.TODAY:
            loops = _list_loops(session, page)
    notes = page.todo.open_notes
    if order is ListOrder.TODAY and page.days_left:
        notes = list_days(page.todo.notes, today(), page.days_left, minutes=minutes)[0].notes
    if not notes and not loops:
        raise Refused("Nothing of this piece is open on this instrument.")
    practice_id = _find_or_start(notebook, instrument_id)
    with notebook.database.writing() as session:
        room = _find_room(session, practice_id)
        placed = [(each.need.bars[0], _want(each)) for each in notes]
        chosen = [*placed, *loops][:room]
        if order is ListOrder.BARS:
            chosen.sort(key=_find_place)
        return practice_id, append_wanted(session, practice_id, [each for _, each in chosen])


def practise_run(notebook: Notebook, piece_id: int, run_id: int) -> tuple[int, int]:
    """Put what was out of tune, wrong or not heard in a run-through on the list, as a piece does.

    Returns:
        The number of the practice, and how many notes are new on its list.

    Raises:
        NotInNotebook: there is no such piece, or it has no such run-through.
        Refused: everything was in tune, or all of it is on the list already.
    """
    page = open_run(notebook, piece_id, run_id)
    notes = page.to_practise
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


def _want(note: TodoNote) -> Wanted:
    return Wanted(note.need.written.canonical, find_to_play(note))


def _find_place(placed: tuple[int, Wanted]) -> tuple[int, bool, float]:
    bar, wanted = placed
    cents = WrittenPitch.from_canonical(wanted.target_text).cents
    return bar, wanted.loop is not None, float(cents)


def _list_loops(session: Session, page: PiecePage) -> list[tuple[int, Wanted]]:
    """List the worst changes of the part as loops, each with the index of its first bar."""
    part, instrument = page.todo.part, page.instrument
    whole = Stretch(0, len(part.bars) - 1)
    wishes = FingeringWishes(decisions=page.decisions)
    passage = finger_bars(session, instrument, part, whole, wishes)
    first_bars = {step.bar_label: step.timed.note.bar for step in reversed(passage.steps)}
    ways = sorted(passage.awkward, key=lambda way: way.time_s is not None)
    return [(first_bars[way.bars[0]], _want_loop(way)) for way in ways if way.is_loop]


def _want_loop(way: AwkwardWay) -> Wanted:
    (one, first), (two, second) = way.first, way.second
    bars = f"{'bar' if len(way.bars) == 1 else 'bars'} {', '.join(way.bars)}"
    return Wanted.of_loop(LoopPair.of((one, first.keys_text), (two, second.keys_text)), bars)


def find_to_play(note: TodoNote) -> int | None:
    """Return the fingering that is to be tried for a note: the composer's first; None for any."""
    if note.to_try is not None:
        return note.to_try.fingering_id
    best = note.best
    if best is not None and best.standing is Standing.NOT_TRIED:
        return best.facts.fingering_id
    return None
