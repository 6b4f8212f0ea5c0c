"""Hyperparameters of the Gaussian process: six scales, learned by marginal likelihood and a prior.

They say how large the errors of the tube are on one instrument. Three are standard deviations of
the weights of a group of features (`kernel.Group`), three say what fingerings have of their own: a
part that all have alike, one that grows with the shift from the base, one that grows with what the
measures of the tube may do (where derivatives say least). They are the most probable ones given the
residuals: marginal likelihood (Rasmussen & Williams 2006, section 5.4.1) times a normal prior on
their logarithms, climbed along its gradient.

The prior is an empirical Bayes one (Casella, The American Statistician 39, 1985, 83-87): its
centres and spreads are near those of the scales that were fitted to 400 fingerings of each of 27
simulated players of both simulations, and it is no property of real ones. It says three things:
typical sizes; how far these differ from player to player; and that where fingerings have much of
their own, shifts are also less well known. The last is what makes a few ordinary notes tell how
much to trust the rest. The measures of the tube are known about as well as the calibration says,
and less freely than the rest: a few cross-fingerings that happened to fit made them look better
known than they were for others. A share of the shift is thought small for the same reason.

Averaging over a few points of the posterior of the scales, tried on sixteen simulated players of
each kind, moved no share by more than .04 and brought them hardly nearer to two thirds on the
whole: not worth its time.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.finder.kernel import Group, Own
from analysis.finder.spots import Real

# In this order: the groups, then the parts of a fingering's own: alike, by shift, by reach.
_CENTRES = np.log([3.0, 0.015, 1.0, 2.8, 1.0, 0.03])
_SPREADS = np.array([0.8, 0.7, 0.55, 1.6, 0.8, 1.0])
# A share of how far a fingering's own part is from its centre moves these too, in logarithms.
_COUPLING = np.eye(len(_CENTRES))
_COUPLING[:, 3] = (0.0, 0.2, 0.0, 1.0, 0.5, 0.5)
# Spreads that are looked at on either side of the centre.
_BOUNDS = [(-4.0, 4.0)] * len(_CENTRES)
# So many residuals tell the scales well enough; more are thinned out evenly.
_MOST_RESIDUALS = 300
_OWN = len(Group)


class Hyperparameters(NamedTuple):
    """The six scales: cents, but `share` and `tube` and `per_reach` are plain factors.

    `per_shift` is cents for each 100 cents of shift.
    """

    player: float
    share: float
    tube: float
    own: float
    per_shift: float
    per_reach: float

    @classmethod
    def from_logarithms(cls, logarithms: Real) -> Hyperparameters:
        """Make hyperparameters from their natural logarithms, shape (6,)."""
        return cls(*np.exp(logarithms).tolist())

    def find_weights(self, groups: NDArray[np.int64]) -> Real:
        """Find the prior standard deviation of each weight; `groups` of shape (features,)."""
        return np.array(self[:_OWN])[groups]

    def find_own(self, own: Own) -> Real:
        """Find the variance in cents^2 that each fingering has of its own, shape (n,)."""
        return np.asarray(np.sum(self.find_own_parts(own), axis=0) + own.fixed)

    def find_own_parts(self, own: Own) -> Real:
        """Find the three learned parts of that variance, shape (3, n)."""
        alike = np.full_like(own.shift, self.own)
        return (
            np.stack([alike, self.per_shift * own.shift / 100.0, self.per_reach * own.reach]) ** 2
        )


PRIOR = Hyperparameters.from_logarithms(_CENTRES)


class Solved(NamedTuple):
    """The posterior of weights in units of their prior, and the variance of each residual."""

    scaled: Real
    covariance: Real
    weights: Real
    total: Real


class Residuals(NamedTuple):
    """What the tube got wrong about some different fingerings.

    `features` (n, features) in their `groups`, `cents` (n,), `noise` variance of each measurement
    in cents^2 (n,), and what each may have of its own.
    """

    features: Real
    groups: NDArray[np.int64]
    cents: Real
    noise: Real
    own: Own

    def solve(self, hyperparameters: Hyperparameters) -> Solved:
        """Find the posterior of the weights for given hyperparameters."""
        total = hyperparameters.find_own(self.own) + self.noise
        scaled = self.features * hyperparameters.find_weights(self.groups)
        weighed = scaled / total[:, np.newaxis]
        covariance = np.linalg.inv(np.eye(scaled.shape[1]) + scaled.T @ weighed)
        covariance = 0.5 * (covariance + covariance.T)
        return Solved(scaled, covariance, covariance @ (weighed.T @ self.cents), total)

    def select(self, places: NDArray[np.int64]) -> Residuals:
        """Select some of the residuals; `places` of shape (any,)."""
        return Residuals(
            self.features[places],
            self.groups,
            self.cents[places],
            self.noise[places],
            self.own.select(places),
        )


def fit_hyperparameters(residuals: Residuals) -> Hyperparameters:
    """Find the most probable hyperparameters; without residuals those of the prior."""
    count = len(residuals.cents)
    if not count:
        return PRIOR
    if count > _MOST_RESIDUALS:
        residuals = residuals.select(np.linspace(0, count - 1, _MOST_RESIDUALS).astype(np.int64))
    from scipy.optimize import minimize  # late: loading it takes longer than the rest of the module

    start = np.zeros(len(_SPREADS))
    found = minimize(_grade, start, args=(residuals,), jac=True, method="L-BFGS-B", bounds=_BOUNDS)
    return Hyperparameters.from_logarithms(_CENTRES + _COUPLING @ found.x)


def _grade(free: Real, residuals: Residuals) -> tuple[float, Real]:
    """Find minus the logarithm of the posterior density, but for a constant, and its gradient."""
    hyperparameters = Hyperparameters.from_logarithms(_CENTRES + _COUPLING @ free)
    scaled, covariance, weights, total = residuals.solve(hyperparameters)
    left = residuals.cents - scaled @ weights
    size = np.linalg.slogdet(covariance)[1]
    worth = np.sum(left**2 / total + np.log(total)) + weights @ weights - size
    worth += np.sum((free / _SPREADS) ** 2)
    shared = np.einsum("ij,ij->i", scaled @ covariance, scaled)
    excess = (left**2 + shared) / total - 1.0
    of_groups = np.bincount(
        residuals.groups, weights**2 + np.diag(covariance) - 1.0, minlength=len(Group)
    )
    of_own = hyperparameters.find_own_parts(residuals.own) @ (excess / total)
    slope = _COUPLING.T @ -np.concatenate([of_groups, of_own]) + free / _SPREADS**2
    return 0.5 * float(worth), slope
