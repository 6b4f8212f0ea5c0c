"""Whittaker smoothing, strength by REML: the smooth trend of a row of phases in noise.

A phase is a smooth trend plus noise. The trend is one whose second, third or fourth differences
are small and random (the pitch wanders, its slope does, or its bend): Whittaker's smoother, a
discrete spline. The noise is that of Hann windows overlapping by half, in which neighbours
correlate by 1/6: a moving average of independent numbers (Box & Jenkins, Time Series Analysis).
Solving for these numbers, and not for the trend, keeps all equations banded, and long rows lose no
digits: the noise is never found as a difference of large numbers.

How smooth the trend is, and in which of the three ways, is not decided but averaged over (Bayesian
model averaging): every order and strength counts by its likelihood given the noise's variance, the
restricted likelihood (REML) that leaves out what a cubic explains (Patterson & Thompson, Biometrika
58, 1971). All are equally likely beforehand. A trend is drawn from the posterior by adding new
noise and new steps and smoothing again: a simulation smoother (after Durbin & Koopman, Biometrika
89, 2002). Sources from memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import comb, factorial
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

NEIGHBOURS = 1 / 6  # correlation of the noise in two neighbouring windows
MOVING = 3 - 2 * np.sqrt(2)  # share of the number before: MOVING / (1 + MOVING^2) is 1/6
# variance of the independent numbers, for unit variance of the noise as long waves see it
FRESH_VARIANCE = 1 / (1 + MOVING) ** 2
CUBIC = 3
# how far smoothing goes, as powers of ten: beyond, a trend of 1,000 windows is a cubic anyhow
WEAKEST = -4.5
STRONGEST = {2: 8.5, 3: 10.5, 4: 12.5}
ROUGH_ORDER = 3
FIRST_STEP = 1.5
FINE_STEP = 0.5
LIKELY = 8.0  # less than this behind the best in twice the log likelihood is looked at closely
LEAST_SHARE = 0.02


class WhittakerSmoother:
    """Smoother of one order and strength for phases of a given length; a cubic part goes free."""

    def __init__(self, count: int, order: int, smoothing: float) -> None:
        from scipy.linalg import lapack  # late: scipy loads slowly, and most pages measure nothing

        self.count = count
        self.order = order
        self.smoothing = smoothing
        self._row = _make_row(order)
        bands = smoothing * _make_bands(count, order)
        bands[-1] += 1.0
        self._factor, fault = lapack.dpbtrf(bands)
        assert fault == 0  # 1 on the diagonal keeps it positive
        self._free = _make_free_part(count, order)

    def _find_noise(self, bends: Floats) -> Floats:
        """The noise behind differences (of the smoother's order, one phase a column)."""
        from scipy.linalg import lapack  # late: scipy loads slowly, and most pages measure nothing

        spread = np.zeros((len(bends) + len(self._row) - 1, bends.shape[1]), order="F")
        for at, weight in enumerate(self.smoothing * self._row):
            spread[at : at + len(bends)] += weight * bends
        fresh = lapack.dpbtrs(self._factor, spread, overwrite_b=True)[0]
        return np.asarray(fresh[1:] + MOVING * fresh[:-1])

    def _free_cubic(self, bends: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Noise with a cubic left in, and for the cubic: its noise, information, what it explains.

        The information is that of its coefficients; their most likely values are what it explains
        divided by it.
        """
        held = self._free.shape[1]
        noise = self._find_noise(np.concatenate((self._free, bends), axis=1))
        left = self.smoothing * (self._free - np.diff(noise[:, :held], self.order, axis=0))
        return noise[:, held:], noise[:, :held], self._free.T @ left, left.T @ bends

    def fit(self, phases: Floats, steps: Floats | None = None) -> Floats:
        """Smooth phases; `steps` are targets for the differences of the trends, 0 where not given.

        `phases` of shape (n, c), one phase a column, of any unit; `steps` of shape (n - order, c).
        Returns shape (n, c).
        """
        bends = np.diff(phases, self.order, axis=0)
        if steps is not None:
            bends = bends - steps
        noise, of_cubic, information, explained = self._free_cubic(bends)
        return np.asarray(phases - noise + of_cubic @ np.linalg.solve(information, explained))

    def draw(self, phase: Floats, variance: float, rng: np.random.Generator, count: int) -> Floats:
        """Draw `count` trends from the posterior.

        `phase` of shape (n,); `variance` is that of its noise. Returns shape (n, count).
        """
        size = np.sqrt(variance * FRESH_VARIANCE)
        fresh = size * rng.standard_normal((count, len(phase) + 1)).T
        steps = rng.standard_normal((count, len(phase) - self.order)).T
        steps *= size / np.sqrt(self.smoothing)
        return self.fit(phase[:, np.newaxis] + fresh[1:] + MOVING * fresh[:-1], steps)

    def score(self, bends: Floats, variance: float) -> float:
        """Minus twice the restricted log likelihood of a phase, but for a constant.

        `bends` are the phase's differences of the smoother's order, shape (n - order, 1);
        `variance` is that of the noise, in the square of their unit.
        """
        columns = np.concatenate((self._free, bends), axis=1)
        left = self.smoothing * (columns - np.diff(self._find_noise(columns), self.order, axis=0))
        gram = columns.T @ left
        information, explained = gram[:-1, :-1], gram[:-1, -1]
        misfit = gram[-1, -1] - explained @ np.linalg.solve(information, explained)
        size = 2 * np.log(self._factor[-1]).sum() - len(bends) * np.log(self.smoothing)
        size += np.linalg.slogdet(information)[1] - _find_differences_size(self.count, self.order)
        return float(misfit / (variance * FRESH_VARIANCE) + size)


@dataclass(frozen=True, slots=True)
class Smoothing:
    """Smoothers with their posterior shares (which sum to 1), and the variance of the noise."""

    smoothers: Sequence[tuple[float, WhittakerSmoother]]
    variance: float

    @property
    def likeliest(self) -> WhittakerSmoother:
        """The smoother with the largest share."""
        return max(self.smoothers, key=lambda one: one[0])[1]

    def fit(self, phase: Floats) -> Floats:
        """The posterior mean of the trend of a phase, shape (n,)."""
        column = phase[:, np.newaxis]
        trends = [share * smoother.fit(column)[:, 0] for share, smoother in self.smoothers]
        return np.asarray(np.sum(trends, axis=0))

    def with_variance(self, variance: float) -> Smoothing:
        """The same trends in another noise: the strength is its variance over that of the steps."""
        ratio = variance / self.variance
        smoothers = []
        for share, one in self.smoothers:
            smoothing = min(one.smoothing * ratio, 10.0 ** STRONGEST[one.order])
            smoothers.append((share, WhittakerSmoother(one.count, one.order, smoothing)))
        return Smoothing(smoothers, variance)


def find_smoothing(phase: Floats, variance: float, *, is_rough: bool = False) -> Smoothing:
    """Weigh smoothers of a phase of shape (n,), n at least 8, in noise of known variance.

    `variance` is that which waves much longer than a window see; independent noise of this variance
    averages out as quickly. A rough search tries one order in long steps.
    """
    count = len(phase)
    left = (phase - _fit_cubic(phase))[:, np.newaxis]
    bends = {order: np.diff(left, order, axis=0) for order in STRONGEST}
    scores: dict[tuple[int, float], float] = {}

    def look(order: int, power: float) -> None:
        if (order, power) not in scores:
            smoother = WhittakerSmoother(count, order, 10.0**power)
            scores[order, power] = smoother.score(bends[order], variance)

    for order in (ROUGH_ORDER,) if is_rough else STRONGEST:
        for power in np.arange(WEAKEST, STRONGEST[order] + 0.1, FIRST_STEP):
            look(order, float(power))
    best = min(scores.values())
    for (order, power), score in list(scores.items()):
        if score < best + LIKELY and not is_rough:
            for step in (-2, -1, 1, 2):
                near = power + step * FINE_STEP
                if WEAKEST <= near <= STRONGEST[order]:
                    look(order, near)
    # made again, since all that were looked at would fill the memory for a long row
    smoothers = [
        (share, WhittakerSmoother(count, order, 10.0**power))
        for (order, power), share in _share_out(scores).items()
    ]
    return Smoothing(smoothers, variance)


def _share_out(scores: Mapping[tuple[int, float], float]) -> dict[tuple[int, float], float]:
    """What each counts, by its likelihood; without those that hardly count."""
    best = min(scores.values())
    shares = {which: float(np.exp(-0.5 * (score - best))) for which, score in scores.items()}
    kept = {which: share for which, share in shares.items() if share >= LEAST_SHARE}
    total = sum(kept.values())
    return {which: share / total for which, share in kept.items()}


def _fit_cubic(phase: Floats) -> Floats:
    basis = _make_cubics(len(phase))
    return np.asarray(basis @ (basis.T @ phase))


@lru_cache(maxsize=1)
def _make_cubics(count: int) -> Floats:
    """Four orthonormal columns: polynomials of a degree of 0 to 3."""
    powers = np.vander(np.linspace(-1.0, 1.0, count), CUBIC + 1, increasing=True)
    return np.asarray(np.linalg.qr(powers)[0])


@lru_cache(maxsize=len(STRONGEST))
def _make_free_part(count: int, order: int) -> Floats:
    """Differences of those polynomials that a smoother would hold back, but no cubic should be."""
    return np.asarray(np.diff(_make_cubics(count)[:, order:], order, axis=0))


@lru_cache(maxsize=len(STRONGEST))
def _find_differences_size(count: int, order: int) -> float:
    """Log determinant of D D', D the differences of a row of `count`.

    It is that of the Gram matrix of the binomials that D takes to 0: the norms of the discrete
    Chebyshev polynomials (Abramowitz & Stegun, 22.17; from memory).
    """
    size = 0.0
    for degree in range(order):
        size += 2 * np.log(factorial(degree))
        size -= np.log(factorial(2 * degree) * factorial(2 * degree + 1))
        size += np.log(count + np.arange(-degree, degree + 1)).sum()
    return float(size)


@lru_cache(maxsize=len(STRONGEST))
def _make_bands(count: int, order: int) -> Floats:
    """Upper bands of M'M: M takes independent numbers to the differences of their noise."""
    row, rows = _make_row(order), count - order
    reach = len(row)
    bands = np.zeros((reach, rows + reach - 1))
    for apart in range(reach):
        for at in range(reach - apart):
            first = at + apart
            bands[reach - 1 - apart, first : first + rows] += row[at] * row[at + apart]
    return bands


def _make_row(order: int) -> Floats:
    """One row of M."""
    return np.convolve(_make_differences(order), [MOVING, 1.0])


def _make_differences(order: int) -> Floats:
    return np.array([(-1.0) ** (order - at) * comb(order, at) for at in range(order + 1)])
