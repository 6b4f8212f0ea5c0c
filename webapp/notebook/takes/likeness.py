"""Likeness of a take: the written note that it is nearest to, and fingerings it may be of."""

from collections.abc import Sequence

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from analysis.pitch import WrittenPitch
from analysis.recording import GROUP_CENTS
from webapp.notebook.store.rows import Fingering, Instrument, Take

MOST_OFFERED = 4


def find_written(take: Take, instrument: Instrument) -> WrittenPitch | None:
    """Return the note that an unsorted take meant, or else the quarter tone that it is nearest to.

    None where it has neither.
    """
    if take.meant_text is not None:
        return WrittenPitch.from_canonical(take.meant_text)
    return nearest_written(take, instrument)


def nearest_written(take: Take, instrument: Instrument) -> WrittenPitch | None:
    """Return the written quarter tone that a take is nearest to; None where it has no pitch."""
    if take.sounding is None:
        return None
    return instrument.nearest_written(take.sounding)


def offer_fingerings(
    session: Session, instrument: Instrument, takes: Sequence[Take]
) -> dict[int, tuple[Fingering, ...]]:
    """Return, by the number of the take, the fingerings that it may be of, nearest first.

    Those that sound, or are meant to sound, within `GROUP_CENTS` of it. One query.
    """
    heard = {take.id: take.sounding.cents for take in takes if take.sounding is not None}
    if not heard:
        return {}
    near = (
        column.between(cents - GROUP_CENTS, cents + GROUP_CENTS)
        for cents in heard.values()
        for column in (Fingering.sounding_cents, Fingering.target_cents)
    )
    query = select(Fingering).where(
        Fingering.instrument_id == instrument.id, Fingering.deleted_at.is_(None), or_(*near)
    )
    rows = session.scalars(query.order_by(Fingering.id)).all()
    return {number: _find_near(rows, cents) for number, cents in heard.items()}


def _find_near(rows: Sequence[Fingering], cents: float) -> tuple[Fingering, ...]:
    def distance(row: Fingering) -> float:
        return min(abs(row.sounding_cents - cents), abs(row.target_cents - cents))

    near = [row for row in rows if distance(row) <= GROUP_CENTS]
    return tuple(sorted(near, key=distance)[:MOST_OFFERED])
