"""Greedy maximum coverage: a few candidates of which one at least is likely to be in tune.

Candidates near each other are wrong together, so the five most promising ones are often five times
the same bet. Their offsets are drawn jointly many times; each choice adds the candidate that hits
the most draws which no earlier choice hit. This greedy rule for maximum coverage reaches at least
63% of the best cover (Nemhauser, Wolsey & Fisher, Mathematical Programming 14, 1978, 265-294).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
_DRAWS = 400
_SEED = 20240601
# What has to be chosen comes second where it is worth this share of the first.
_NEARLY_AS_MUCH = 0.6
_ERF = np.frompyfunc(math.erf, 1, 1)


class Chosen(NamedTuple):
    """Places of the choices in order, and what each adds to the chance that one of them hits."""

    places: list[int]
    gains: list[float]


def find_chances(offsets: Real, sigmas: Real, tolerance_cents: float) -> Real:
    """Find the chances of normal offsets to be within the tolerance on either side.

    `offsets` and `sigmas` in cents, shape (n,); returns shape (n,), 0 to 1.
    """
    edge = np.full_like(offsets, tolerance_cents)
    return find_chances_between(offsets, sigmas, -edge, edge)


def find_chances_between(offsets: Real, sigmas: Real, low: Real, high: Real) -> Real:
    """Find the chances of normal offsets to be between two bounds.

    All in cents, shape (n,); returns shape (n,), 0 to 1.
    """
    scale = sigmas * math.sqrt(2.0)
    above = _ERF((high - offsets) / scale)
    below = _ERF((low - offsets) / scale)
    return 0.5 * np.asarray(above - below, dtype=np.float64)


def draw_hits(
    offsets: Real, sigmas: Real, shared: Real, *, tolerance_cents: float, speaks: Real
) -> NDArray[np.bool_]:
    """Draw which candidates land within the tolerance, jointly; the same draws each time.

    Args:
        offsets: expected, cents, shape (n,).
        sigmas: of all that is uncertain, shape (n,).
        shared: what one standard deviation of each shared unknown does, shape (n, unknowns).
        tolerance_cents: on either side.
        speaks: chance of each to speak, 0 to 1, shape (n,).

    Returns:
        Shape (n, draws).
    """
    rng = np.random.default_rng(_SEED)
    own = np.sqrt(np.maximum(sigmas**2 - np.sum(shared**2, axis=1), 0.0))
    drawn = shared @ rng.standard_normal((shared.shape[1], _DRAWS))
    drawn += own[:, np.newaxis] * rng.standard_normal((len(offsets), _DRAWS))
    speaking = rng.random((len(offsets), _DRAWS)) < speaks[:, np.newaxis]
    return np.asarray((np.abs(drawn + offsets[:, np.newaxis]) <= tolerance_cents) & speaking)


def choose_together(hits: NDArray[np.bool_], scores: Real, weights: Real, count: int) -> Chosen:
    """Choose up to `count` candidates.

    Args:
        hits: from `draw_hits`, shape (n, draws).
        scores: worth of each by itself, shape (n,): the first choice is the best, and ties fall to
        the better. weights: what makes a candidate worth less whatever it hits, 0 to 1, shape (n,).
        count: how many.
    """
    open_draws = np.ones(hits.shape[1], dtype=bool)
    left = np.ones(len(scores), dtype=bool)
    chosen = Chosen([], [])
    for number in range(min(count, len(scores))):
        gains = hits[:, open_draws].sum(axis=1) / hits.shape[1]
        worth = scores if number == 0 else weights * gains + 1e-3 * scores
        place = int(np.argmax(np.where(left, worth, -np.inf)))
        chosen.places.append(place)
        chosen.gains.append(float(gains[place]))
        left[place] = False
        open_draws &= ~hits[place]
    return chosen


def place_early(order: list[int], place: int, worth: Real) -> None:
    """Make sure that a candidate is among the choices: right after the first if nearly as good.

    The first choice stays. If the candidate was not chosen, the last choice makes room for it.

    Args:
        order: places of the choices, best first; changed.
        place: of the candidate.
        worth: of each candidate by itself, shape (n,).
    """
    if place not in order:
        order[-1] = place
    if place != order[0] and worth[place] >= _NEARLY_AS_MUCH * worth[order[0]]:
        order.remove(place)
        order.insert(1, place)
