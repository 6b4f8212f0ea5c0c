"""Offset of a take from a target, in cents, at the tuning A of its day."""

from analysis.pitch import SoundingPitch, WrittenPitch
from analysis.recording import TakeOffset
from webapp.notebook.store.rows import Take


def take_offset(take: Take, target: SoundingPitch) -> TakeOffset | None:
    """Return how far a take lies from a target, or None where it has no pitch to compare."""
    sounding = take.sounding
    uncertainty_cents = take.measurement.f0_uncertainty_cents
    if sounding is None or uncertainty_cents is None:
        return None
    return TakeOffset(
        offset_cents=target.interval_to(sounding), uncertainty_cents=uncertainty_cents
    )


def target_of(take: Take) -> SoundingPitch | None:
    """Return what a take was played for: its fingering's note, or the one that was meant.

    The fingering and the instrument must be loaded; None where an unsorted take meant none.
    """
    if take.fingering is not None:
        return SoundingPitch(take.fingering.target_cents)
    if take.meant_text is None:
        return None
    written = WrittenPitch.from_canonical(take.meant_text)
    return take.instrument.transposition.to_sounding(written)
