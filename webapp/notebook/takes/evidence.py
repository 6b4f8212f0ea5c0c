"""From the measured takes of a fingering to its one figure: only here are offsets pooled.

Fingerings that leave the same holes open are one to the air. Where the player wishes it
(`shares_evidence`), those of one instrument and one target have their takes pooled together.
"""

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from analysis.pitch import SoundingPitch
from analysis.recording import TakeOffset, pool_takes
from webapp.notebook.store.rows import Fingering, Take


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


def count_shared(fingering: Fingering, own_takes: Sequence[Take]) -> int:
    """Count the takes of other fingerings that stand behind the figure of this one."""
    target = SoundingPitch(fingering.target_cents)
    own = sum(take_offset(take, target) is not None for take in own_takes)
    return fingering.take_count - own if fingering.shares_evidence else 0


def find_sharing(session: Session, fingering: Fingering) -> list[Fingering]:
    """Return the other fingerings whose takes count for this one too, without those in the bin."""
    if not fingering.shares_evidence or fingering.hole_signature is None:
        return []
    query = select(Fingering).where(
        Fingering.instrument_id == fingering.instrument_id,
        Fingering.hole_signature == fingering.hole_signature,
        Fingering.written_cents == fingering.written_cents,
        Fingering.shares_evidence.is_(True),
        Fingering.deleted_at.is_(None),
        Fingering.id != fingering.id,
    )
    return list(session.scalars(query.order_by(Fingering.id)))


def refresh_evidence(session: Session, fingering: Fingering) -> None:
    """Pool the takes of a fingering anew, and of those that share with it; note the results."""
    sharing = find_sharing(session, fingering)
    for each in (fingering, *sharing):
        others = [one for one in (fingering, *sharing) if one.id != each.id and not one.deleted_at]
        _pool(session, each, others)


def _pool(session: Session, fingering: Fingering, others: Sequence[Fingering]) -> None:
    target = SoundingPitch(fingering.target_cents)
    offsets = [
        offset
        for each in (fingering, *others)
        for take in load_takes(session, each.id)
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
