"""Which practice session a moment belongs to; shared by the services."""

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.models import Practice


def find_open_practice(session: Session, instrument_id: int, moment: datetime) -> Practice | None:
    """Return the session of an instrument that is open at a moment, if one is."""
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
    """Return the session that a take belongs to: the one it says, else the one open just then."""
    if practice_id is not None:
        return session.get(Practice, practice_id)
    return find_open_practice(session, instrument_id, recorded_at)
