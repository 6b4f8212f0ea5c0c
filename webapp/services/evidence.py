"""From the measured takes of a fingering to its one figure: only here are offsets pooled."""

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from analysis.pitch import SoundingPitch
from analysis.recording import TakeOffset, pool_takes
from webapp.models import Fingering, Take


def load_takes(session: Session, fingering_id: int) -> list[Take]:
    """Return the takes of a fingering outside the bin, oldest first, with their measurements."""
    query = (
        select(Take)
        .where(Take.fingering_id == fingering_id, Take.deleted_at.is_(None))
        .options(selectinload(Take.measurements))
        .order_by(Take.recorded_at, Take.id)
    )
    return list(session.scalars(query))


def take_offset(take: Take, target: SoundingPitch) -> TakeOffset | None:
    """Return how far a take lies from a target, or None where it has no pitch to compare."""
    sounding = take.sounding
    uncertainty_cents = take.measurement.f0_uncertainty_cents
    if sounding is None or uncertainty_cents is None:
        return None
    return TakeOffset(
        offset_cents=target.interval_to(sounding), uncertainty_cents=uncertainty_cents
    )


def refresh_evidence(session: Session, fingering: Fingering) -> None:
    """Pool the takes of a fingering anew and note the result on it."""
    target = SoundingPitch(fingering.target_cents)
    offsets = [
        offset
        for take in load_takes(session, fingering.id)
        if (offset := take_offset(take, target)) is not None
    ]
    fingering.take_count = len(offsets)
    if not offsets:
        fingering.offset_cents = fingering.offset_uncertainty_cents = None
        fingering.sounding_cents = fingering.target_cents
        return
    pooled = pool_takes(offsets)
    fingering.offset_cents = pooled.offset_cents
    fingering.offset_uncertainty_cents = pooled.uncertainty_cents
    fingering.sounding_cents = fingering.target_cents + pooled.offset_cents
