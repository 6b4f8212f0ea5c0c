"""Gaussian process regression in weight space, with one value of its own for each fingering.

Residuals (measured minus tube) are features times weights, plus what is each fingering's own, plus
noise of the measurement (Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006,
section 2.1). How large all these are on one instrument is learned in `hyperparameters`. Everything
is in the space of weights, so the cost grows in proportion to the number of logged fingerings.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.finder.hyperparameters import Hyperparameters, Residuals, fit_hyperparameters

Real = NDArray[np.float64]


class Estimate(NamedTuple):
    """Mean in cents and variance in cents^2 of some values."""

    mean: Real
    variance: Real


@dataclass(frozen=True)
class FittedProcess:
    """The posterior: hyperparameters, and weights (features,) with a root of their covariance."""

    residuals: Residuals
    hyperparameters: Hyperparameters
    weights: Real
    root: Real

    @property
    def own_variance(self) -> Real:
        """Of each residual's fingering, cents^2."""
        return self.hyperparameters.find_own(self.residuals.own)

    def estimate(self, features: Real) -> Estimate:
        """Estimate the part that fingerings share; their own is not in the variance.

        `features` of shape (n, features); both results have shape (n,).
        """
        return Estimate(features @ self.weights, np.sum((features @ self.root) ** 2, axis=1))

    def estimate_left_out(self) -> Estimate:
        """Leave-one-out estimate of the shared part of each residual, in closed form."""
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


def fit_process(residuals: Residuals) -> FittedProcess:
    """Fit the process to residuals; without any the prior stays."""
    hyperparameters = fit_hyperparameters(residuals)
    solved = residuals.solve(hyperparameters)
    sizes = hyperparameters.find_weights(residuals.groups)
    root = sizes[:, np.newaxis] * np.linalg.cholesky(solved.covariance)
    return FittedProcess(residuals, hyperparameters, sizes * solved.weights, np.asarray(root))
