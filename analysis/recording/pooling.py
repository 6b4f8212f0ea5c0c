"""Robust random-effects pooling: several takes of one fingering into one offset with uncertainty.

Two spreads are kept apart. Within a take the pitch is known to the take's own uncertainty, a few
hundredths of a cent; from take to take the player comes back to another place, some cents away. A
figure that took the first for the second would look a hundred times better than it is.

The model is that of random effects (DerSimonian & Laird, Controlled Clinical Trials 7, 1986):
take i reads mu + b_i + e_i, where e_i has the take's own standard uncertainty s_i (within the take)
and b_i the player's scatter tau from take to take. Tau comes from the median absolute deviation
about the median with its small-sample factors (Croux & Rousseeuw, "Time-efficient algorithms for
two highly robust estimators of scale", 1992), less the median of s_i^2, and is averaged with a
prior worth four takes.
Mu is Huber's M-estimate (Ann. Math. Stat. 35, 1964) with weights 1 / (s_i^2 + tau^2), so that one
take gone wrong does not drag it. Its uncertainty is widened as Student's t spreads for a scatter
known with so few degrees of freedom. References from memory.

The prior says that a player comes back to a note within 3 cents (one standard deviation): common
practice, from memory. It is what a single take's uncertainty is widened by.

Colour (brightness and the like) has no uncertainty of a single take and no target to miss, so there
the median and the scatter about it say all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from analysis.recording.errors import NothingToPool

BETWEEN_TAKES_PRIOR_CENTS = 3.0
PRIOR_TAKES = 4
HUBER_LIMIT = 1.5
MAX_PASSES = 100
CONVERGED_CENTS = 1e-9
# makes 1.4826 MAD unbiased for 2 to 9 normal readings; n / (n - 0.8) from there on
_MAD_FACTORS = {2: 1.196, 3: 1.495, 4: 1.363, 5: 1.206, 6: 1.200, 7: 1.140, 8: 1.129, 9: 1.107}


@dataclass(frozen=True, slots=True)
class TakeOffset:
    """One take's offset from the target and its own standard uncertainty, in cents."""

    offset_cents: float
    uncertainty_cents: float


@dataclass(frozen=True, slots=True)
class PooledOffset:
    """The pooled offset with its standard uncertainty.

    `between_takes_cents` is the scatter from take to take (one standard deviation, the prior
    included); None for a single take, which can't show one.
    """

    offset_cents: float
    uncertainty_cents: float
    take_count: int
    between_takes_cents: float | None


@dataclass(frozen=True, slots=True)
class PooledColour:
    """The middle of several readings of one aspect of colour, in the unit of the readings.

    `spread` is their scatter as one standard deviation; None for a single reading.
    """

    middle: float
    spread: float | None
    count: int


def pool_takes(offsets: Sequence[TakeOffset]) -> PooledOffset:
    """Pool takes of one fingering into offset and uncertainty, robustly.

    Parameters: at least one `TakeOffset`, all finite, uncertainties not negative.
    Raises `NothingToPool` otherwise.
    Limits: with two takes neither can be told to be the wrong one; from three on one may be.
    Source: random effects with Huber's weights, see the module.

    >>> pool_takes([TakeOffset(4.0, 0.1)])
    PooledOffset(offset_cents=4.0, uncertainty_cents=3.0016662039607267, take_count=1, \
between_takes_cents=None)
    >>> takes = [TakeOffset(o, 0.1) for o in (4.0, 5.0, 4.5, 60.0)]
    >>> 4.0 < pool_takes(takes).offset_cents < 6.0
    True
    """
    _check(offsets)
    count = len(offsets)
    between_cents = _find_between_takes(offsets)
    variances = [take.uncertainty_cents**2 + between_cents**2 for take in offsets]
    middle = median(take.offset_cents for take in offsets)
    for _ in range(MAX_PASSES):
        weights = [
            _huber_weight(take.offset_cents - middle, variance) / variance
            for take, variance in zip(offsets, variances, strict=True)
        ]
        total = math.fsum(weights)
        pairs = zip(weights, offsets, strict=True)
        moved = math.fsum(weight * take.offset_cents for weight, take in pairs) / total
        has_converged = abs(moved - middle) < CONVERGED_CENTS
        middle = moved
        if has_converged:
            break
    return PooledOffset(
        offset_cents=middle,
        uncertainty_cents=math.sqrt(1 / total) * _widen_for_few(count),
        take_count=count,
        between_takes_cents=between_cents if count > 1 else None,
    )


def pool_colour(readings: Sequence[float]) -> PooledColour:
    """Pool readings of brightness, odd/even balance, breath noise or time to speak.

    Method: the median, and 1.4826 times the median absolute deviation with its small-sample
    factors, which is the standard deviation of a normal scatter.
    Parameters: at least one reading, all finite, of one unit; readings that are absent are the
    caller's to leave out. Raises `NothingToPool` otherwise.
    Limits: up to half of the readings less one may be wrong; with two, either may be.
    Source: Croux & Rousseeuw 1992, see the module.

    >>> pool_colour([2.0, 2.5, 9.0]).middle
    2.5
    >>> pool_colour([3.1])
    PooledColour(middle=3.1, spread=None, count=1)
    """
    if not readings:
        raise NothingToPool("No take tells the colour. Record at least one.")
    if not all(math.isfinite(each) for each in readings):
        raise NothingToPool(
            "The colour of a take is no plain number; pooling needs plain numbers. "
            "Measure that take again."
        )
    middle, count = median(readings), len(readings)
    spread = find_scale([each - middle for each in readings]) if count > 1 else None
    return PooledColour(middle, spread, count)


def _check(offsets: Sequence[TakeOffset]) -> None:
    if not offsets:
        raise NothingToPool("There is no usable take to pool. Record at least one.")
    for take in offsets:
        is_finite = math.isfinite(take.offset_cents) and math.isfinite(take.uncertainty_cents)
        if not is_finite or take.uncertainty_cents < 0:
            raise NothingToPool(
                f"A take reads {take.offset_cents} cents, give or take {take.uncertainty_cents};"
                " pooling needs plain numbers. Measure that take again."
            )


def _find_between_takes(offsets: Sequence[TakeOffset]) -> float:
    """The scatter from take to take, averaged with the prior by degrees of freedom."""
    count = len(offsets)
    prior = BETWEEN_TAKES_PRIOR_CENTS**2
    if count == 1:
        return BETWEEN_TAKES_PRIOR_CENTS
    middle = median(take.offset_cents for take in offsets)
    scale = find_scale([take.offset_cents - middle for take in offsets])
    within = median(take.uncertainty_cents**2 for take in offsets)
    seen = max(0.0, scale**2 - within)
    freedom = count - 1
    return math.sqrt((PRIOR_TAKES * prior + freedom * seen) / (PRIOR_TAKES + freedom))


def find_scale(deviations: Sequence[float]) -> float:
    """Return the standard deviation of normal readings, robustly.

    Parameters: deviations from the median of two or more readings, in any unit; one gives 0.
    Source: Croux & Rousseeuw 1992, see the module.
    """
    count = len(deviations)
    factor = _MAD_FACTORS.get(count, count / (count - 0.8))
    return 1.4826 * factor * median(abs(each) for each in deviations)


def _widen_for_few(count: int) -> float:
    """Standard deviation of Student's t; a single take rests on the prior alone."""
    if count == 1:
        return 1.0
    freedom = PRIOR_TAKES + count - 1
    return math.sqrt(freedom / (freedom - 2))


def _huber_weight(deviation: float, variance: float) -> float:
    size = abs(deviation) / math.sqrt(variance)
    return 1.0 if size <= HUBER_LIMIT else HUBER_LIMIT / size
