"""Likeness of a take: the written note that it is nearest to, and fingerings it may be of."""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.pitch import EqualDivision, WrittenPitch
from webapp.notebook.store.rows import Fingering, Instrument, Take

MOST_OFFERED = 4
OFFERED_WITHIN_CENTS = 60.0
_QUARTER_TONES = EqualDivision(24)


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
    written_cents = take.sounding.cents - instrument.transposition.cents
    return WrittenPitch.from_cents(_QUARTER_TONES.nearest(written_cents))


def offer_fingerings(
    session: Session, instrument: Instrument, takes: Sequence[Take]
) -> dict[int, tuple[Fingering, ...]]:
    """Return, by the number of the take, the fingerings that it may be of, nearest first.

    Those that sound, or are meant to sound, within `OFFERED_WITHIN_CENTS` of it. One query.
    """
    heard = {take.id: take.sounding.cents for take in takes if take.sounding is not None}
    if not heard:
        return {}
    query = select(Fingering).where(
        Fingering.instrument_id == instrument.id, Fingering.deleted_at.is_(None)
    )
    rows = session.scalars(query.order_by(Fingering.id)).all()
    return {number: _find_near(rows, cents) for number, cents in heard.items()}


def _find_near(rows: Sequence[Fingering], cents: float) -> tuple[Fingering, ...]:
    def distance(row: Fingering) -> float:
        return min(abs(row.sounding_cents - cents), abs(row.target_cents - cents))

    near = [row for row in rows if distance(row) <= OFFERED_WITHIN_CENTS]
    return tuple(sorted(near, key=distance)[:MOST_OFFERED])
