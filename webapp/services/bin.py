"""The bin: what was deleted, the way back, and emptying it for good.

Deleting marks a row; its clips stay until the bin is emptied. A row inside something that lies in
the bin needs no mark of its own.
"""

from dataclasses import dataclass

from sqlalchemy import delete, or_, select
from sqlalchemy.orm import Session, joinedload

from webapp.errors import NotInNotebook
from webapp.models import Fingering, Instrument, Take, now_utc
from webapp.notebook import Notebook
from webapp.services.evidence import refresh_evidence
from webapp.services.finding_rows import fetch


@dataclass(frozen=True, slots=True)
class BinContents:
    """What lies in the bin, newest first."""

    instruments: tuple[Instrument, ...]
    fingerings: tuple[Fingering, ...]
    takes: tuple[Take, ...]

    @property
    def is_empty(self) -> bool:
        """Whether nothing lies in it."""
        return not (self.instruments or self.fingerings or self.takes)


@dataclass(frozen=True, slots=True)
class Place:
    """Something that has a page: an instrument or a fingering."""

    kind: str
    row_id: int


def put_in_bin(notebook: Notebook, kind: str, row_id: int) -> Place | None:
    """Mark a row as deleted.

    Returns:
        What it belonged to, where the player goes on; None for an instrument.

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
    """
    with notebook.database.writing() as session:
        row = _fetch(session, kind, row_id, with_binned=True)
        row.deleted_at = None
        _refresh_for(session, row)
        return _can_be_opened(session, row)


def list_bin(notebook: Notebook) -> BinContents:
    """Return what lies in the bin."""
    with notebook.database.reading() as session:
        return BinContents(
            tuple(
                session.scalars(
                    select(Instrument)
                    .where(Instrument.deleted_at.is_not(None))
                    .order_by(Instrument.deleted_at.desc())
                )
            ),
            tuple(
                session.scalars(
                    select(Fingering)
                    .where(Fingering.deleted_at.is_not(None))
                    .options(joinedload(Fingering.instrument))
                    .order_by(Fingering.deleted_at.desc())
                )
            ),
            tuple(
                session.scalars(
                    select(Take)
                    .where(Take.deleted_at.is_not(None))
                    .options(joinedload(Take.fingering).joinedload(Fingering.instrument))
                    .order_by(Take.deleted_at.desc())
                )
            ),
        )


def empty_bin(notebook: Notebook) -> int:
    """Remove for good what lies in the bin, clips last; return the number of clips removed."""
    with notebook.database.writing() as session:
        doomed = (
            select(Take.clip_name)
            .join(Take.fingering)
            .join(Fingering.instrument)
            .where(
                or_(
                    Take.deleted_at.is_not(None),
                    Fingering.deleted_at.is_not(None),
                    Instrument.deleted_at.is_not(None),
                )
            )
        )
        clip_names = list(session.scalars(doomed))
        for kind in (Take, Fingering, Instrument):
            session.execute(delete(kind).where(kind.deleted_at.is_not(None)))
    notebook.clips.remove(clip_names)
    return len(clip_names)


def _fetch(
    session: Session, kind: str, row_id: int, *, with_binned: bool = False
) -> Instrument | Fingering | Take:
    if kind == "instrument":
        return fetch(session, Instrument, row_id, with_binned=with_binned)
    if kind == "fingering":
        return fetch(session, Fingering, row_id, with_binned=with_binned)
    if kind == "take":
        return fetch(session, Take, row_id, with_binned=with_binned)
    raise NotInNotebook("Only instruments, fingerings and takes go through the bin.")


def _place_of(row: Instrument | Fingering | Take) -> Place | None:
    if isinstance(row, Take):
        return Place("fingering", row.fingering_id)
    return Place("instrument", row.instrument_id) if isinstance(row, Fingering) else None


def _can_be_opened(session: Session, row: Instrument | Fingering | Take) -> bool:
    if row.deleted_at is not None:
        return False
    if isinstance(row, Take):
        fingering = fetch(session, Fingering, row.fingering_id, with_binned=True)
        return _can_be_opened(session, fingering)
    if isinstance(row, Fingering):
        return _can_be_opened(
            session, fetch(session, Instrument, row.instrument_id, with_binned=True)
        )
    return True


def _refresh_for(session: Session, row: Instrument | Fingering | Take) -> None:
    if isinstance(row, Take):
        session.flush()
        refresh_evidence(session, fetch(session, Fingering, row.fingering_id, with_binned=True))
