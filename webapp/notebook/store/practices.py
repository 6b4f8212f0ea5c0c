"""Fetch a practice: by its number, the open one, or the one that a moment belongs to."""

from datetime import datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload

from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import NotInNotebook, Refused
from webapp.notebook.store.fetching import is_row_number
from webapp.notebook.store.rows import LONGEST_PRACTICE, Practice


def fetch_practice(session: Session, practice_id: int) -> Practice:
    """Return a practice with its instrument.

    Raises:
        NotInNotebook: there is none, or its instrument lies in the bin.
    """
    row = None
    if is_row_number(practice_id):
        row = session.get(Practice, practice_id, options=[joinedload(Practice.instrument)])
    if row is None:
        raise NotInNotebook(
            f"There is no practice session number {practice_id} in this notebook. "
            "The page of the instrument lists those that are there."
        )
    if row.instrument.deleted_at is not None:
        raise NotInNotebook(
            "The instrument of this session lies in the bin. Open the bin to put it back."
        )
    return row


def fetch_open_practice(session: Session, practice_id: int) -> Practice:
    """Return a practice that is open now, with its instrument.

    Raises:
        NotInNotebook: there is none, or its instrument lies in the bin.
        Refused: it is over.
    """
    row = fetch_practice(session, practice_id)
    if not row.is_open_at(now_utc()):
        raise Refused(
            "This session is over, so it stays as it is. Begin another one on the page of practice "
            "sessions."
        )
    return row


def find_open_practice(session: Session, instrument_id: int, moment: datetime) -> Practice | None:
    """Return the practice of an instrument that is open at a moment, if one is."""
    if not is_row_number(instrument_id):
        return None
    query = (
        select(Practice)
        .where(
            Practice.instrument_id == instrument_id,
            Practice.ended_at.is_(None),
            Practice.started_at <= moment,
        )
        .order_by(Practice.started_at.desc(), Practice.id.desc())
        .limit(1)
    )
    newest = session.scalars(query).first()
    return newest if newest is not None and newest.is_open_at(moment) else None


def find_practice_at(
    session: Session, instrument_id: int, recorded_at: datetime, practice_id: int | None
) -> Practice | None:
    """Return the practice that a take belongs to: the one it says, else the one it was made in.

    That one may have ended since: a recording can wait in the browser until after the practice.
    """
    if practice_id is not None:
        return session.get(Practice, practice_id)
    query = (
        select(Practice)
        .where(
            Practice.instrument_id == instrument_id,
            Practice.started_at <= recorded_at,
            Practice.started_at >= recorded_at - LONGEST_PRACTICE,
            or_(Practice.ended_at.is_(None), Practice.ended_at >= recorded_at),
        )
        .order_by(Practice.started_at.desc(), Practice.id.desc())
        .limit(1)
    )
    return session.scalars(query).first()
