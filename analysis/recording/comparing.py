"""Differences of pitch offsets with combined standard uncertainty.

Offsets are compared with the day's tuning note, with the base, and one dynamic with another. A
difference of two offsets carries both uncertainties: the squares of two independent standard
uncertainties add (ISO/IEC Guide 98-3, "GUM", 5.1; from memory). Takes of one day share a reed and a
temperature and are not quite independent, which makes the stated uncertainty rather too large.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analysis.recording.pooling import PooledOffset, TakeOffset, pool_takes

COVERAGE = 2.0  # standard uncertainties; about 95% of a normal scatter (GUM 6.2, from memory)


@dataclass(frozen=True, slots=True)
class DynamicShift:
    """How much higher a fingering sounds at one dynamic than at another (negative: lower)."""

    dynamic: str
    against: str
    shift: TakeOffset

    @property
    def is_clear(self) -> bool:
        """Whether the dynamic moves the pitch further than the uncertainty would: 95% sure."""
        return abs(self.shift.offset_cents) > COVERAGE * self.shift.uncertainty_cents


def relative_offset(
    offset: TakeOffset | PooledOffset, reference: TakeOffset | PooledOffset
) -> TakeOffset:
    """An offset as it is against another one: the day's tuning note, or the base's own offset.

    Parameters: two offsets with standard uncertainties in cents, each from its own target at the
    same tuning A. Returns their difference with the combined uncertainty, the root of the sum of
    squares. Raises nothing. Limits and source: see the module; a pooled reference carries the
    player's scatter from take to take, a single measured take only its own uncertainty.

    >>> relative_offset(TakeOffset(12.0, 3.0), TakeOffset(-5.0, 4.0))
    TakeOffset(offset_cents=17.0, uncertainty_cents=5.0)
    """
    return TakeOffset(
        offset.offset_cents - reference.offset_cents,
        math.hypot(offset.uncertainty_cents, reference.uncertainty_cents),
    )


def compare_dynamics(takes: Mapping[str, Sequence[TakeOffset]]) -> tuple[DynamicShift, ...]:
    """Where the dynamic moves the pitch of a fingering, clear of the uncertainty.

    Method: the takes of each dynamic are pooled; each is compared with the dynamic that has most
    takes (of equals the one nearest to the middle of those played), and a shift is named where it
    exceeds twice its standard uncertainty.
    Parameters: the offsets by dynamic, in the order from soft to loud; dynamics without takes may
    be left out or empty. Returns the clear shifts in that order, none if there is nothing to say.
    Raises `NothingToPool` for an offset that is no plain number.
    Limits: the scatter from take to take must be known, so that single takes must lie some 9 cents
    apart. Source: see `pooling` and the module.

    >>> loud, soft = [TakeOffset(o, 0.1) for o in (-9.0, -10.0)], [TakeOffset(4.0, 0.1)] * 3
    >>> [(s.dynamic, s.against, s.shift.offset_cents) for s in
    ...     compare_dynamics({"p": soft, "ff": loud})]
    [('ff', 'p', -13.5)]
    """
    pooled = {dynamic: pool_takes(offsets) for dynamic, offsets in takes.items() if offsets}
    if len(pooled) < 2:
        return ()
    against = _choose_reference(pooled)
    shifts = (
        DynamicShift(dynamic, against, relative_offset(each, pooled[against]))
        for dynamic, each in pooled.items()
        if dynamic != against
    )
    return tuple(shift for shift in shifts if shift.is_clear)


def _choose_reference(pooled: Mapping[str, PooledOffset]) -> str:
    dynamics = list(pooled)
    middle = (len(dynamics) - 1) / 2
    return min(
        dynamics,
        key=lambda each: (-pooled[each].take_count, abs(dynamics.index(each) - middle)),
    )
