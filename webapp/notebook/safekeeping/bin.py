"""The bin: what was deleted, the way back, and emptying it for good.

Deleting marks a row; its clips stay until the bin is emptied. A row inside something that lies in
the bin needs no mark of its own.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import delete, or_, select
from sqlalchemy.orm import Session, joinedload
from sqlalchemy.orm.interfaces import ORMOption

from webapp.notebook.loops.loops import refuse_same_loop
from webapp.notebook.recordings.recordings import refuse_same_recording
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    KeptLoop,
    KeptRun,
    LongRecording,
    OwnLayout,
    PageFile,
    Piece,
    PieceOriginal,
    Practice,
    ReceivedClip,
    ReceivedFingering,
    ReceivedInstrument,
    Sender,
    Take,
    TuningNote,
)
from webapp.notebook.takes.evidence import refresh_evidence
from webapp.notebook.takes.takes import refuse_twin

BinRow = Instrument | Fingering | Take | LongRecording | KeptLoop | Piece | Sender
Binned = TypeVar(
    "Binned", Instrument, Fingering, Take, LongRecording, KeptLoop, OwnLayout, Piece, Sender
)


@dataclass(frozen=True, slots=True)
class BinContents:
    """Rows in the bin by their kind, the newest first."""

    instruments: tuple[Instrument, ...]
    fingerings: tuple[Fingering, ...]
    takes: tuple[Take, ...]
    recordings: tuple[LongRecording, ...]
    layouts: tuple[OwnLayout, ...] = ()
    pieces: tuple[Piece, ...] = ()
    senders: tuple[Sender, ...] = ()
    loops: tuple[KeptLoop, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing lies in it."""
        rows = (self.instruments, self.fingerings, self.takes, self.recordings, self.layouts)
        return not any((*rows, self.pieces, self.senders, self.loops))


@dataclass(frozen=True, slots=True)
class Place:
    """Something that has a page: an instrument or a fingering."""

    kind: str
    row_id: int


def put_in_bin(notebook: Notebook, kind: str, row_id: int) -> Place | None:
    """Mark a row as deleted.

    Returns:
        What it belonged to, where the player goes on; None for an instrument or a piece.

    Raises:
        NotInNotebook: there is none, or it is in the bin already.
    """
    with notebook.database.writing() as session:
        row = _fetch(session, kind, row_id)
        row.deleted_at = now_utc()
        _refresh_for(session, row)
        return _place_of(row)


def restore(notebook: Notebook, kind: str, row_id: int) -> bool:
    """Take a row out of the bin; one that is not in it stays as it is.

    Returns:
        Whether it can be opened now: not while what it belongs to still lies in the bin.

    Raises:
        NotInNotebook: there is none (any more).
        DuplicateClip, DuplicateRecording: the same recording was kept again since.
    """
    with notebook.database.writing() as session:
        row = _fetch(session, kind, row_id, with_binned=True)
        _refuse_twin(session, row)
        row.deleted_at = None
        _refresh_for(session, row)
        return _can_be_opened(session, row)


def list_bin(notebook: Notebook) -> BinContents:
    """Return what lies in the bin."""
    with notebook.database.reading() as session:
        return BinContents(
            _find_binned(session, Instrument),
            _find_binned(session, Fingering, joinedload(Fingering.instrument)),
            _find_binned(
                session,
                Take,
                joinedload(Take.fingering).joinedload(Fingering.instrument),
                joinedload(Take.instrument),
            ),
            _find_binned(session, LongRecording, joinedload(LongRecording.instrument)),
            _find_binned(session, OwnLayout),
            _find_binned(session, Piece),
            _find_binned(session, Sender),
            _find_binned(session, KeptLoop, joinedload(KeptLoop.instrument)),
        )


def _find_binned(session: Session, kind: type[Binned], *options: ORMOption) -> tuple[Binned, ...]:
    """Return the rows of one kind that lie in the bin, the newest first."""
    query = select(kind).where(kind.deleted_at.is_not(None)).options(*options)
    return tuple(session.scalars(query.order_by(kind.deleted_at.desc())))


def empty_bin(notebook: Notebook) -> int:
    """Remove for good what lies in the bin, clips last; return the number of clips removed."""
    with notebook.database.writing() as session:
        doomed = (
            select(Take.clip_name)
            .outerjoin(Take.fingering)
            .join(Take.instrument)
            .where(
                or_(
                    Take.deleted_at.is_not(None),
                    Fingering.deleted_at.is_not(None),
                    Instrument.deleted_at.is_not(None),
                )
            )
        )
        clip_names = [*session.scalars(doomed), *_doomed_long_clips(session)]
        clip_names += _doomed_received_clips(session)
        # No instrument has a layout that lies in the bin (`webapp.notebook.instruments.layouts`).
        for kind in (
            Take, Fingering, LongRecording, KeptLoop, Instrument, OwnLayout, Piece, Sender,
        ):  # fmt: skip
            session.execute(delete(kind).where(kind.deleted_at.is_not(None)))
    notebook.clips.remove(clip_names)
    return len(clip_names)


def _doomed_long_clips(session: Session) -> list[str]:
    """Return the files of long recordings, loops, tuning notes and pieces that go with the bin."""
    recordings = (
        select(LongRecording.clip_name)
        .join(LongRecording.instrument)
        .where(or_(LongRecording.deleted_at.is_not(None), Instrument.deleted_at.is_not(None)))
    )
    notes = (
        select(TuningNote.clip_name)
        .join(TuningNote.practice)
        .join(Practice.instrument)
        .where(TuningNote.clip_name.is_not(None), Instrument.deleted_at.is_not(None))
    )
    originals = (
        select(PieceOriginal.clip_name)
        .join(PieceOriginal.piece)
        .where(Piece.deleted_at.is_not(None))
    )
    pages = select(PageFile.clip_name).join(PageFile.piece).where(Piece.deleted_at.is_not(None))
    runs = (
        select(KeptRun.clip_name)
        .join(KeptRun.piece)
        .join(KeptRun.instrument)
        .where(or_(Piece.deleted_at.is_not(None), Instrument.deleted_at.is_not(None)))
    )
    loops = (
        select(KeptLoop.clip_name)
        .join(KeptLoop.instrument)
        .where(or_(KeptLoop.deleted_at.is_not(None), Instrument.deleted_at.is_not(None)))
    )
    every = (recordings, notes, originals, pages, runs, loops)
    names = {name for query in every for name in session.scalars(query)}
    return [name for name in names if name is not None]


def _doomed_received_clips(session: Session) -> list[str]:
    """Return the recordings of others that go with their sender."""
    query = (
        select(ReceivedClip.clip_name)
        .join(ReceivedFingering, ReceivedFingering.id == ReceivedClip.fingering_id)
        .join(ReceivedFingering.instrument)
        .join(ReceivedInstrument.sender)
        .where(Sender.deleted_at.is_not(None))
    )
    return list(session.scalars(query))


_FETCHING: dict[str, Callable[[Session, int, bool], BinRow]] = {
    "instrument": lambda session, row_id, binned: fetch(
        session, Instrument, row_id, with_binned=binned
    ),
    "fingering": lambda session, row_id, binned: fetch(
        session, Fingering, row_id, with_binned=binned
    ),
    "take": lambda session, row_id, binned: fetch(session, Take, row_id, with_binned=binned),
    "recording": lambda session, row_id, binned: fetch(
        session, LongRecording, row_id, with_binned=binned
    ),
    "loop": lambda session, row_id, binned: fetch(session, KeptLoop, row_id, with_binned=binned),
    "piece": lambda session, row_id, binned: fetch(session, Piece, row_id, with_binned=binned),
    "sender": lambda session, row_id, binned: fetch(session, Sender, row_id, with_binned=binned),
}


def _fetch(session: Session, kind: str, row_id: int, *, with_binned: bool = False) -> BinRow:
    if kind not in _FETCHING:
        raise NotInNotebook(
            "Only instruments, fingerings, takes, recordings, loops, pieces and what came from "
            "others go through the bin."
        )
    return _FETCHING[kind](session, row_id, with_binned)


def _refuse_twin(session: Session, row: BinRow) -> None:
    if isinstance(row, Take):
        refuse_twin(session, row)
    elif isinstance(row, LongRecording):
        refuse_same_recording(session, row)
    elif isinstance(row, KeptLoop):
        refuse_same_loop(session, row)


def _place_of(row: BinRow) -> Place | None:
    if isinstance(row, Take):
        if row.fingering_id is None:
            return Place("unsorted takes of instrument", row.instrument_id)
        return Place("fingering", row.fingering_id)
    if isinstance(row, LongRecording):
        return Place("recordings of instrument", row.instrument_id)
    if isinstance(row, KeptLoop):
        return Place("loops of instrument", row.instrument_id)
    if isinstance(row, Sender):
        return Place("senders", row.id)
    return Place("instrument", row.instrument_id) if isinstance(row, Fingering) else None


def _can_be_opened(session: Session, row: BinRow) -> bool:
    if row.deleted_at is not None:
        return False
    if isinstance(row, Take) and row.fingering_id is not None:
        fingering = fetch(session, Fingering, row.fingering_id, with_binned=True)
        return _can_be_opened(session, fingering)
    if isinstance(row, Take | Fingering | LongRecording | KeptLoop):
        return _can_be_opened(
            session, fetch(session, Instrument, row.instrument_id, with_binned=True)
        )
    return True


def _refresh_for(session: Session, row: BinRow) -> None:
    session.flush()
    if isinstance(row, Take) and row.fingering_id is not None:
        refresh_evidence(session, fetch(session, Fingering, row.fingering_id, with_binned=True))
    elif isinstance(row, Fingering) and row.shares_evidence:
        refresh_evidence(session, row)
