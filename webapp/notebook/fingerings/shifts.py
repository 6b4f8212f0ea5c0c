"""Pitch against something else than equal temperament: against the base, and between dynamics."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.recording import (
    DynamicShift,
    TakeOffset,
    TakeStanding,
    compare_dynamics,
    pool_takes,
    relative_offset,
)
from webapp.drawing.dynamics import DynamicOffset
from webapp.notebook.store.rows import Fingering, Take
from webapp.notebook.takes.takes import DYNAMICS

# A base that sounds further from its note than this was another note, or another register.
BASE_REACH_CENTS = 300.0


@dataclass(frozen=True, slots=True)
class BaseShift:
    """How far a fingering sounds from its base as the player plays it; `base` is measured."""

    shift: TakeOffset
    base: Fingering


def shift_from_base(session: Session, fingering: Fingering) -> BaseShift | None:
    """Return how far a measured fingering sounds from its base, as measured on this instrument.

    The base's own pitch is that of a logged fingering with the base's keys and written target: the
    one it came from, if that still has these keys, or else the one with most takes. So an ordinary
    base counts as soon as the player has logged and recorded it. The instrument of `fingering` must
    be loaded. One query.

    Returns:
        None where the fingering or its base is not measured, or where it has no base.
    """
    base = _find_measured_base(session, fingering)
    if base is None or not fingering.is_measured:
        return None
    shift = relative_offset(_sounding(fingering), _sounding(base))
    return BaseShift(shift, base)


def find_dynamic_shifts(
    takes: Collection[Take], offsets: Mapping[int, TakeOffset]
) -> tuple[DynamicShift, ...]:
    """Return where the dynamic moves the pitch of a fingering, clear of the uncertainty.

    `offsets`, by the number of the take, are those that its figure is pooled from
    (`correct_for_day`).
    """
    return compare_dynamics(_sort_by_dynamic(takes, offsets))


def pool_by_dynamic(
    takes: Collection[Take], offsets: Mapping[int, TakeOffset]
) -> tuple[DynamicOffset, ...]:
    """Return the offset at each dynamic that there are counting takes for, soft first."""
    pooled = {
        dynamic: pool_takes(some)
        for dynamic, some in _sort_by_dynamic(takes, offsets).items()
        if some
    }
    return tuple(
        DynamicOffset(dynamic, each.offset_cents, each.uncertainty_cents, each.take_count)
        for dynamic, each in pooled.items()
    )


def find_lip_shift(
    fingering: Fingering, takes: Collection[Take], offsets: Mapping[int, TakeOffset]
) -> TakeOffset | None:
    """Return how far takes played watching lie from those played without: so far the lip went.

    None where there are not both.
    """
    watched = [offsets[take.id] for take in takes if take.standing == TakeStanding.WATCHED]
    if not watched or fingering.offset_cents is None:
        return None
    uncertainty_cents = fingering.offset_uncertainty_cents or 0.0
    return relative_offset(
        pool_takes(watched), TakeOffset(fingering.offset_cents, uncertainty_cents)
    )


def _sort_by_dynamic(
    takes: Collection[Take], offsets: Mapping[int, TakeOffset]
) -> dict[str, list[TakeOffset]]:
    counting = [take for take in takes if take.counts]
    return {
        dynamic: [offsets[take.id] for take in counting if take.dynamic == dynamic]
        for dynamic in DYNAMICS
    }


def _find_measured_base(session: Session, fingering: Fingering) -> Fingering | None:
    written = fingering.base_written
    if written is None:
        return None
    sounds = fingering.instrument.transposition.to_sounding(written).cents
    query = (
        select(Fingering)
        .where(
            Fingering.instrument_id == fingering.instrument_id,
            Fingering.sounding_cents.between(sounds - BASE_REACH_CENTS, sounds + BASE_REACH_CENTS),
            Fingering.deleted_at.is_(None),
            Fingering.keys_text == fingering.base_keys_text,
            Fingering.written_cents == float(written.cents),
            Fingering.take_count > 0,
            Fingering.id != fingering.id,
        )
        .order_by(
            Fingering.id.is_not_distinct_from(fingering.base_id).desc(),
            Fingering.take_count.desc(),
            Fingering.id,
        )
    )
    return session.scalars(query.limit(1)).first()


def _sounding(fingering: Fingering) -> TakeOffset:
    """Return where a measured fingering sounds, in sounding cents, with its uncertainty."""
    return TakeOffset(fingering.sounding_cents, fingering.offset_uncertainty_cents or 0.0)
