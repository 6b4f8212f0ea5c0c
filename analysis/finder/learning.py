"""A Gaussian process with linear features and one value of its own for each fingering.

Residuals (measured minus tube) are features times weights, plus what is each fingering's own, plus
noise of the measurement. The weights have a common scale; scale and own value are chosen by the
marginal likelihood, held by priors on their logarithms so that few residuals do not mislead
(Rasmussen & Williams 2006, sections 2.1 and 5.4.1). Everything is in the space of weights, so the
cost grows in proportion to the number of logged fingerings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]

# What a fingering has of its own, and how sure that is: judgement, from memory.
OWN_CENTS = 6.0
# By this shift from the base a fingering's own standard deviation has grown by 40%.
OWN_SHIFT_CENTS = 90.0
_OWN_GRID = tuple(OWN_CENTS * 2.0 ** (step / 2) for step in range(-3, 4))
_SCALE_GRID = tuple(2.0 ** (step / 4) for step in range(-5, 6))
_OWN_SPREAD, _SCALE_SPREAD = 0.6, 0.35


class Residuals(NamedTuple):
    """What the tube got wrong about some different fingerings.

    `features` (n, features), `cents` (n,), `noise` variance of each in cents^2 (n,), `own` how
    much each may have of its own.
    """

    features: Real
    cents: Real
    noise: Real
    own: Own


class Own(NamedTuple):
    """What fingerings have of their own: `stretch` times a common variance, and `fixed` cents^2."""

    stretch: Real
    fixed: Real

    def find_variance(self, own_cents: float) -> Real:
        """Find the variance of each in cents^2 for a common standard deviation."""
        return own_cents**2 * self.stretch + self.fixed


class Estimate(NamedTuple):
    """Mean in cents and variance in cents^2 of some values."""

    mean: Real
    variance: Real


@dataclass(frozen=True)
class Learned:
    """What was learned: weights with their covariance, scale, and own variance."""

    residuals: Residuals
    weights: Real
    covariance: Real
    scale: float
    own_cents: float

    @cached_property
    def root(self) -> Real:
        """A square root of the covariance, to draw from it."""
        return np.asarray(np.linalg.cholesky(self.covariance))

    @property
    def own_variance(self) -> Real:
        """Of each residual's fingering, cents^2."""
        return self.residuals.own.find_variance(self.own_cents)

    def estimate(self, features: Real) -> Estimate:
        """Estimate the part that fingerings share; their own is not in the variance."""
        variance = np.einsum("ij,ij->i", features @ self.covariance, features)
        return Estimate(features @ self.weights, variance)

    def estimate_left_out(self) -> Estimate:
        """Estimate the shared part of each residual from all the others (closed form)."""
        shared = self.estimate(self.residuals.features)
        total = self.own_variance + self.residuals.noise
        left = np.maximum(1.0 - shared.variance / total, 1e-9)
        variance = shared.variance / left
        mean = (shared.mean - shared.variance / total * self.residuals.cents) / left
        return Estimate(mean, variance)

    def estimate_known(self) -> Estimate:
        """Estimate what each measured fingering does, its own value included."""
        others = self.estimate_left_out()
        prior = others.variance + self.own_variance
        share = prior / (prior + self.residuals.noise)
        mean = others.mean + share * (self.residuals.cents - others.mean)
        return Estimate(mean, (1.0 - share) * prior)


def learn(residuals: Residuals) -> Learned:
    """Learn from residuals; without any the prior stays."""
    if not len(residuals.cents):
        count = residuals.features.shape[1]
        return Learned(residuals, np.zeros(count), np.eye(count), 1.0, OWN_CENTS)
    own_cents, scale = max(_grade(residuals), key=lambda graded: graded[0])[1]
    weighed = residuals.features / _total(residuals, own_cents)[:, np.newaxis]
    precision = residuals.features.T @ weighed + np.eye(weighed.shape[1]) / scale**2
    covariance = np.linalg.inv(precision)
    covariance = 0.5 * (covariance + covariance.T)
    weights = covariance @ (weighed.T @ residuals.cents)
    return Learned(residuals, weights, covariance, scale, own_cents)


def _total(residuals: Residuals, own_cents: float) -> Real:
    return residuals.own.find_variance(own_cents) + residuals.noise


def _grade(residuals: Residuals) -> list[tuple[float, tuple[float, float]]]:
    """Find the logarithm of the posterior density of each own value and scale on the grid."""
    graded = []
    for own_cents in _OWN_GRID:
        total = _total(residuals, own_cents)
        weighed = residuals.features / total[:, np.newaxis]
        values, vectors = np.linalg.eigh(residuals.features.T @ weighed)
        values = np.maximum(values, 0.0)
        turned = (vectors.T @ (weighed.T @ residuals.cents)) ** 2
        plain = np.sum(residuals.cents**2 / total + np.log(total))
        for scale in _SCALE_GRID:
            fit = np.sum(turned / (values + scale**-2))
            size = np.sum(np.log1p(scale**2 * values))
            held = (math.log(own_cents / OWN_CENTS) / _OWN_SPREAD) ** 2
            held += (math.log(scale) / _SCALE_SPREAD) ** 2
            graded.append((-0.5 * float(plain - fit + size + held), (own_cents, scale)))
    return graded
