"""Unsorted takes: recordings of an instrument that belong to no fingering yet."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, selectinload

from analysis.pitch import WrittenPitch
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.likeness import nearest_written, offer_fingerings

OLD_AFTER = timedelta(days=30)
MOST_SHOWN = 100


@dataclass(frozen=True, slots=True)
class UnsortedTake:
    """An unsorted take, what it sounds like, and the fingerings it may be of, nearest first.

    `off_cents` is its distance from the quarter tone that it is named by.
    """

    take: Take
    written: WrittenPitch | None
    off_cents: float | None
    offered: tuple[Fingering, ...]
    is_old: bool


@dataclass(frozen=True, slots=True)
class UnsortedPage:
    """The unsorted takes of an instrument, newest first."""

    instrument: Instrument
    takes: tuple[UnsortedTake, ...]
    count: int
    old_count: int


def count_unsorted(session: Session, instrument_id: int) -> int:
    """Count the unsorted takes of an instrument."""
    query = select(func.count()).select_from(Take).where(*_is_unsorted(instrument_id))
    return session.scalar(query) or 0


def list_unsorted(
    notebook: Notebook, instrument_id: int, *, old_after: timedelta = OLD_AFTER
) -> UnsortedPage:
    """Return the unsorted takes of an instrument, the newest `MOST_SHOWN` of them.

    Those older than `old_after` are named as old; none is ever deleted by itself.

    Raises:
        NotInNotebook: there is no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        query = (
            select(Take)
            .where(*_is_unsorted(instrument_id))
            .options(selectinload(Take.measurements))
            .order_by(Take.recorded_at.desc(), Take.id.desc())
        )
        takes = session.scalars(query.limit(MOST_SHOWN)).all()
        offered = offer_fingerings(session, instrument, takes)
        limit = now_utc() - old_after
        old = (
            select(func.count())
            .select_from(Take)
            .where(*_is_unsorted(instrument_id), Take.recorded_at < limit)
        )
        return UnsortedPage(
            instrument,
            tuple(
                _describe(take, instrument, offered, is_old=take.recorded_at < limit)
                for take in takes
            ),
            count_unsorted(session, instrument_id),
            session.scalar(old) or 0,
        )


def _is_unsorted(instrument_id: int) -> tuple[ColumnElement[bool], ...]:
    return (
        Take.instrument_id == instrument_id,
        Take.fingering_id.is_(None),
        Take.deleted_at.is_(None),
    )


def _describe(
    take: Take,
    instrument: Instrument,
    offered: Mapping[int, tuple[Fingering, ...]],
    *,
    is_old: bool,
) -> UnsortedTake:
    written = nearest_written(take, instrument)
    if written is None or take.sounding is None:
        return UnsortedTake(take, None, None, (), is_old)
    off_cents = instrument.transposition.to_sounding(written).interval_to(take.sounding)
    return UnsortedTake(take, written, off_cents, offered.get(take.id, ()), is_old)
