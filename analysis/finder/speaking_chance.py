"""Chance of a fingering to speak: a prior by impedance peaks, and kernel-weighted votes.

It is learned apart from the pitch.
The prior looks at the height of the resonance beside that of the base: a third as high is doubtful,
a tenth hopeless; and each hole that differs from the base takes a little. With the left thumb off
its hole where the base keeps it covered, a note above the first resonance is wild (common practice,
from memory), though the tube alone would let it through. Logged fingerings then vote, the more the
fewer holes differ. This is a judgement in numbers, not acoustics: which register speaks can't be
told from the tube alone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.finder.spots import Bits, Numbers, Real, Spots

SURE = 0.95
_SUREST = 0.99
# Height beside the base's at which the prior is halved.
_DOUBTFUL_HEIGHT = 0.2
_PER_HOLE = 0.985
# What the prior is worth with the left thumb off: common practice, from memory.
_WILD_SHARE = 0.4
# How many equal fingerings the prior is worth, and how many differing holes weaken a vote by e.
_PRIOR_VOTES = 1.5
_HOLES_APART = 1.0
_PLAIN_CHANCE = 0.85


def find_speaking_chances(
    spots: Spots,
    relative_heights: Real,
    votes: tuple[Bits, Numbers, Real],
    *,
    is_wild: NDArray[np.bool_],
    holes_apart: NDArray[np.integer],
) -> Real:
    """Find the chance of each spot to speak.

    Args:
        spots: which, n of them.
        relative_heights: shape (n,), over the height of each spot's base; not-a-number if unknown.
        is_wild: shape (n,), whether the left thumb is off its hole though the base wants it there.
        holes_apart: shape (n,), how many holes differ from the base.
        votes: hole sets and resonances of logged fingerings, and 1 for spoke or 0 for did not, each
            of shape (logged,).
    """
    heights = np.nan_to_num(relative_heights, nan=-1.0)
    prior = np.where(
        heights < 0, _PLAIN_CHANCE, SURE * heights**2 / (heights**2 + _DOUBTFUL_HEIGHT**2)
    )
    prior = prior * np.power(_PER_HOLE, holes_apart.astype(np.float64))
    prior = np.where(is_wild, _WILD_SHARE * prior, prior)
    holes, numbers, spoke = votes
    if not len(holes):
        return np.clip(prior, 0.0, SURE)
    apart = np.bitwise_count(spots.holes[:, np.newaxis] ^ holes)
    weight = np.exp(-(apart / _HOLES_APART))
    weight = np.where(spots.numbers[:, np.newaxis] == numbers, weight, 0.0)
    share = (_PRIOR_VOTES * prior + weight @ spoke) / (_PRIOR_VOTES + weight.sum(axis=1))
    return np.asarray(np.clip(share, 0.0, _SUREST))
