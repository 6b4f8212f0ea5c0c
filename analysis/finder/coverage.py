"""Coverage of stated uncertainties: errors left out, against what was stated, by register.

The scales of the process are learned from all logged pitches together and from the shape of a
normal distribution. Whether two thirds of a register's errors are within sigma is another question,
and leave-one-out errors answer it (Rasmussen & Williams 2006, section 5.4.2). Few of them say
little, so a number of exactly normal ones stand beside them: those of all registers together first
correct what was thought before, and each register's own then correct that.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]

_ONE_SIGMA = 0.6827
# So many normal errors stand for what was thought before.
_PRIOR_COUNT = 20
_BOUNDS = (0.6, 2.5)


def find_stretch(errors: Real, groups: NDArray[np.int64], before: Real) -> Real:
    """Find by what to multiply sigma in each group, so that two thirds of errors are within it.

    Args:
        errors: absolute leave-one-out errors over their stated sigma, shape (n,).
        groups: the place of each one's group in `before`, shape (n,).
        before: what each group is to be multiplied by where nothing is known, shape (groups,).

    Returns:
        Shape (groups,).
    """
    shares = (np.arange(_PRIOR_COUNT) + 0.5) / _PRIOR_COUNT
    prior = np.array([NormalDist().inv_cdf(0.5 + 0.5 * share) for share in shares])
    usual = np.quantile(prior, _ONE_SIGMA)

    def fit(thought: float, some: Real) -> float:
        every = np.concatenate([thought * prior, some])
        return float(np.quantile(every, _ONE_SIGMA) / usual)

    together = fit(1.0, errors / before[groups])
    found = [
        fit(size * together, errors[groups == place]) for place, size in enumerate(before.tolist())
    ]
    return np.asarray(np.clip(found, *_BOUNDS))
