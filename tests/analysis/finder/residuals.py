"""Residuals drawn from known scales, for the tests of learning."""

import numpy as np

from analysis.finder.hyperparameters import Hyperparameters, Residuals
from analysis.finder.kernel import Group, Own

GROUPS = np.repeat([Group.PLAYER, Group.SHARE, Group.TUBE], [3, 2, 4]).astype(np.int64)
TYPICAL = Hyperparameters(player=4.0, share=0.06, tube=1.0, own=5.0, per_shift=2.0, per_reach=0.1)


def make_residuals(
    count: int, hyperparameters: Hyperparameters = TYPICAL, seed: int = 5
) -> Residuals:
    """Draw residuals: shifts up to 200 cents, three cents of noise."""
    rng = np.random.default_rng(seed)
    shift = rng.uniform(0.0, 200.0, count)
    sizes = np.array([1.0, 50.0, 4.0])[GROUPS]
    features = rng.normal(size=(count, len(GROUPS))) * sizes
    reach = np.linalg.norm(features[:, GROUPS == Group.TUBE], axis=1)
    own = Own(shift, reach, np.zeros(count))
    weights = hyperparameters.find_weights(GROUPS) * rng.standard_normal(len(GROUPS))
    noise = np.full(count, 9.0)
    cents = features @ weights
    cents = cents + np.sqrt(hyperparameters.find_own(own) + noise) * rng.standard_normal(count)
    return Residuals(features, GROUPS, cents, noise, own)
