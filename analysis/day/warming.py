"""Warming of a blown clarinet by the room: Bayesian linear regression, conjugate, per instrument.

Free air rises by 3 cents a degree near 20 degrees C, since the speed of sound goes with the square
root of absolute temperature. A clarinet that is blown moves less: breath holds its upper bore at
nearly one temperature whatever the room. How much less depends on instrument and player, so it is
fitted from days with a room temperature T_d and tuning notes that lay y_d cents off:

    y_d = level + slope T_d + e_d,    e_d ~ N(0, s^2 + u_d^2),    slope ~ N(1.5, 1)

with u_d the uncertainty of the day's own shift and s = 4 cents the scatter from day to day. The
level has a flat prior. With weights w_d = 1 / (s^2 + u_d^2), and sums about the weighted means, the
slope is Gaussian with precision 1 / 1^2 + Sxx and mean (1.5 / 1^2 + Sxy) / precision.

Source: Bayesian linear regression, such as Gelman et al., Bayesian Data Analysis, chapter 14; the
prior of the slope and the scatter are judgement, all from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

WARMING_CENTS_PER_C = 1.5
"""How far a warmer room raises a blown clarinet, where nothing is fitted: the mean of the prior."""
WARMING_SIGMA_CENTS_PER_C = 1.0
DAY_SCATTER_CENTS = 4.0


class WarmDay(NamedTuple):
    """A day: the temperature of its room, and how far the instrument lay off, with uncertainty."""

    air_c: float
    offset_cents: float
    sigma_cents: float


@dataclass(frozen=True, slots=True)
class RoomWarming:
    """How far a warmer room raises an instrument, in cents per degree C, with uncertainty."""

    cents_per_c: float
    sigma_cents_per_c: float
    day_count: int


def fit_warming(days: Sequence[WarmDay]) -> RoomWarming:
    """Fit how far a warmer room raises one instrument.

    Args:
        days: in any order; none, or days of one temperature, leave the prior as it is.

    >>> fit_warming([])
    RoomWarming(cents_per_c=1.5, sigma_cents_per_c=1.0, day_count=0)
    >>> found = fit_warming([WarmDay(12.0, -10.0, 0.0), WarmDay(28.0, 6.0, 0.0)])
    >>> round(found.cents_per_c, 2), round(found.sigma_cents_per_c, 2)  # a slope of 1 in 16 degrees
    (1.06, 0.33)
    """
    prior = WARMING_SIGMA_CENTS_PER_C**-2.0
    precision, pulled = prior, prior * WARMING_CENTS_PER_C
    if days:
        air_c, offsets, sigmas = (np.array(each) for each in zip(*days, strict=True))
        weights = 1.0 / (DAY_SCATTER_CENTS**2 + sigmas**2)
        centred = air_c - np.average(air_c, weights=weights)
        precision += float(np.sum(weights * centred**2))
        apart = offsets - np.average(offsets, weights=weights)
        pulled += float(np.sum(weights * centred * apart))
    return RoomWarming(pulled / precision, math.sqrt(1.0 / precision), len(days))
