"""Chance of a fingering to speak: a prior by impedance peaks, logistic regression, votes.

It is learned apart from the pitch.
The prior looks at the height of the resonance beside that of the base: a third as high is doubtful,
a tenth hopeless; and each hole that differs from the base takes a little. With the left thumb off
its hole where the base keeps it covered, a note above the first resonance is wild (common practice,
from memory), though the tube alone would let it through. This is a judgement in numbers, not
acoustics: which register speaks can't be told from the tube alone.

How often the player's own fingerings spoke then moves all log odds, and once more those of wild
notes: logistic regression with a normal prior (Rasmussen & Williams 2006, section 3.4: the mode of
the posterior, by Newton's method). Ordinary fingerings say nothing there, as they speak for
everybody. Last, logged fingerings vote for their like, the more the fewer holes differ.
"""

from __future__ import annotations

from typing import NamedTuple

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
# How far log odds differ from player to player: of all fingerings, of wild ones besides.
_PLAYER_LOG_ODDS = np.array([1.0, 1.0])
_NEWTON_STEPS = 12
_LEAST_CHANCE = 0.001


class SpeakingPrior(NamedTuple):
    """Prior of n spots, before any was played.

    `chances` 0 to 1, `is_wild`, and how many holes differ from the base, each of shape (n,).
    """

    chances: Real
    is_wild: NDArray[np.bool_]
    holes_apart: NDArray[np.integer]


def find_speaking_prior(
    relative_heights: Real, is_wild: NDArray[np.bool_], holes_apart: NDArray[np.integer]
) -> SpeakingPrior:
    """Find how likely spots are thought to speak.

    Args:
        relative_heights: shape (n,), over the height of each spot's base; not-a-number if unknown.
        is_wild: shape (n,), whether the left thumb is off its hole though the base wants it there.
        holes_apart: shape (n,), how many holes differ from the base.
    """
    heights = np.nan_to_num(relative_heights, nan=-1.0)
    chances = np.where(
        heights < 0, _PLAIN_CHANCE, SURE * heights**2 / (heights**2 + _DOUBTFUL_HEIGHT**2)
    )
    chances = chances * np.power(_PER_HOLE, holes_apart.astype(np.float64))
    chances = np.where(is_wild, _WILD_SHARE * chances, chances)
    return SpeakingPrior(np.clip(chances, _LEAST_CHANCE, SURE), is_wild, holes_apart)


def fit_log_odds(prior: SpeakingPrior, spoke: Real) -> Real:
    """Find by how much the player's fingerings speak more easily than thought, in log odds.

    Args:
        prior: of the n fingerings that were logged.
        spoke: 1 for spoke or 0 for did not, shape (n,).

    Returns:
        Shape (2,): for all fingerings, and what wild ones have besides; 0 without any.
    """
    there = np.flatnonzero(prior.holes_apart > 0)
    features = np.stack([np.ones(len(there)), prior.is_wild[there]], axis=1)
    start = _find_log_odds(prior.chances[there])
    found = np.zeros(2)
    for _ in range(_NEWTON_STEPS if len(there) else 0):
        chances = _find_chances(start + features @ found)
        slope = features.T @ (spoke[there] - chances) - found / _PLAYER_LOG_ODDS**2
        weighed = features * (chances * (1.0 - chances))[:, np.newaxis]
        curvature = features.T @ weighed + np.diag(_PLAYER_LOG_ODDS**-2.0)
        found = found + np.linalg.solve(curvature, slope)
    return found


def find_speaking_chances(
    spots: Spots, prior: SpeakingPrior, log_odds: Real, votes: tuple[Bits, Numbers, Real]
) -> Real:
    """Find the chance of each spot to speak.

    Args:
        spots: which, n of them.
        prior: of these.
        log_odds: from `fit_log_odds`, shape (2,).
        votes: hole sets and resonances of logged fingerings, and 1 for spoke or 0 for did not, each
            of shape (logged,).
    """
    moved = np.where(prior.holes_apart > 0, log_odds[0] + log_odds[1] * prior.is_wild, 0.0)
    chances = _find_chances(_find_log_odds(prior.chances) + moved)
    holes, numbers, spoke = votes
    if not len(holes):
        return chances
    apart = np.bitwise_count(spots.holes[:, np.newaxis] ^ holes)
    weight = np.exp(-(apart / _HOLES_APART))
    weight = np.where(spots.numbers[:, np.newaxis] == numbers, weight, 0.0)
    share = (_PRIOR_VOTES * chances + weight @ spoke) / (_PRIOR_VOTES + weight.sum(axis=1))
    return np.asarray(np.clip(share, 0.0, _SUREST))


def _find_log_odds(chances: Real) -> Real:
    return np.asarray(np.log(chances) - np.log1p(-chances))


def _find_chances(log_odds: Real) -> Real:
    return np.asarray(1.0 / (1.0 + np.exp(-log_odds)))
