"""Notes of a list to hand on: those of a practice as they stand, or those of a piece by bar."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from webapp.notebook.pieces.pieces import load_piece
from webapp.notebook.pieces.practising import find_to_play
from webapp.notebook.pieces.todo import TodoNote
from webapp.notebook.pieces.words import tell_bars
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.store.errors import Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_practice
from webapp.notebook.store.rows import Instrument, Piece


@dataclass(frozen=True, slots=True)
class ListedNote:
    """A note of a list, perhaps with the fingering for it and a remark."""

    written: WrittenPitch
    fingering_id: int | None = None
    remark: str = ""


def list_practice(
    session: Session, instrument: Instrument, practice_id: int
) -> tuple[ListedNote, ...]:
    """Return the list of a practice in its order, without its loops: these go by my own hands.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is one of another instrument.
    """
    practice = fetch_practice(session, practice_id)
    if practice.instrument_id != instrument.id:
        raise Refused("This session is one of another instrument.")
    return tuple(
        ListedNote(row.written, row.fingering_id, row.note)
        for row in load_targets(session, practice_id)
        if row.loop is None
    )


def list_piece(
    session: Session, notebook: Notebook, instrument: Instrument, piece_id: int
) -> tuple[ListedNote, ...]:
    """Return the notes of a piece that need thought, by bar, each with what is best for it.

    Raises:
        NotInNotebook: there is no such piece.
        ScoreError: nothing in it can be read under the answers.
    """
    todo = load_piece(session, notebook, fetch(session, Piece, piece_id), instrument.id).todo
    notes = sorted(todo.notes, key=lambda each: (each.need.bars[0], each.need.written.cents))
    return tuple(
        ListedNote(each.need.written, _choose(each), tell_bars(each.need.bars, todo.part))
        for each in notes
    )


def find_title(session: Session, piece_id: int | None) -> str:
    """Return the title of a piece; empty without one."""
    return "" if piece_id is None else fetch(session, Piece, piece_id).title


def _choose(note: TodoNote) -> int | None:
    """Return what is fixed for a note, else what is to be tried first, else the best."""
    if note.fixed:
        return note.fixed[0].fingering_id
    chosen = find_to_play(note)
    if chosen is None and note.best is not None:
        return note.best.facts.fingering_id
    return chosen
