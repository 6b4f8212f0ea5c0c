"""Reach of the lip: how far a player bends a note down and up, and how one fingering follows.

The reach of a register is common practice (from memory): a note goes down more easily than up,
in the altissimo farther both ways. A fingering has more or less of it, as its note follows the reed
(`analysis.acoustics.lip`) more or less than the ordinary notes of its register do.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from analysis.acoustics import decode_holes
from analysis.acoustics.lip import find_lip_slopes
from analysis.finder.inputs import USUAL_LIP, LipReach, LipTry, PlayersLip
from analysis.finder.spots import ALTISSIMO_NUMBER, Real, Spots
from analysis.finder.tube import Tube

# A fingering that follows the reed so much more or less than ordinary ones is not believed.
_BOUNDS = (0.5, 2.0)
# So many notes bent as far as they went are worth what is usual.
_PRIOR_TRIES = 3.0
_CLOSED_CENTS = 5.0


class SpotReach(NamedTuple):
    """How far spots can be bent, in cents at least 0: sharp ones down, flat ones up; each (n,)."""

    down: Real
    up: Real


def find_reach(tube: Tube, spots: Spots, lip: PlayersLip) -> SpotReach:
    """Find how far each spot can be bent by a player; spots must have cents."""
    share = find_lip_share(tube, spots)
    is_high = spots.numbers >= ALTISSIMO_NUMBER
    down = np.where(is_high, lip.altissimo.sharp_cents, lip.usual.sharp_cents)
    up = np.where(is_high, lip.altissimo.flat_cents, lip.usual.flat_cents)
    return SpotReach(down * share, up * share)


def find_lip_share(tube: Tube, spots: Spots) -> Real:
    """Find how spots follow the reed, over what ordinary notes at their pitch do, shape (n,)."""
    if not len(spots):
        return np.zeros(0)
    usual = tube.cache.recall(f"lip-{tube.serial}", lambda: _find_usual(tube))
    assert isinstance(usual, _Usual)
    expected = np.exp(
        np.where(
            spots.numbers == 1,
            np.interp(spots.cents, *usual.low),
            np.interp(spots.cents, *usual.high),
        )
    )
    return np.asarray(np.clip(_find_slopes(tube, spots) / expected, *_BOUNDS))


class _Usual(NamedTuple):
    """Straight lines over written cents through the logarithms of ordinary slopes, by two ends."""

    low: tuple[Real, Real]
    high: tuple[Real, Real]


def _find_usual(tube: Tube) -> _Usual:
    lines = []
    for is_low in (True, False):
        spots = tube.ordinary.select((tube.ordinary.numbers == 1) == is_low)
        slopes = np.log(np.maximum(_find_slopes(tube, spots), 1e-3))
        ends = np.array([spots.cents.min(), spots.cents.max()])
        lines.append((ends, np.polyval(np.polyfit(spots.cents, slopes, 1), ends)))
    return _Usual(*lines)


def _find_slopes(tube: Tube, spots: Spots) -> Real:
    states = decode_holes(spots.holes, len(tube.layout.holes))
    sounding = spots.cents + tube.geometry.treble_transposition_cents
    return find_lip_slopes(tube.model, states, sounding)


def learn_lip(tries: Sequence[LipTry], start: PlayersLip = USUAL_LIP) -> PlayersLip:
    """Learn how far a player bends notes from takes played without watching and watching.

    Where the note was brought to its place the lip could go at least so far; where it stayed short
    of it, just so far. `start`, what is usual or what the player says, counts like a few of the
    latter.

    >>> bent = LipTry(is_altissimo=False, without_cents=30.0, watching_cents=14.0)
    >>> learn_lip([bent] * 3).usual
    LipReach(sharp_cents=20.5, flat_cents=10.0)
    """
    return PlayersLip(
        _learn(start.usual, [one for one in tries if not one.is_altissimo]),
        _learn(start.altissimo, [one for one in tries if one.is_altissimo]),
    )


def _learn(usual: LipReach, tries: Sequence[LipTry]) -> LipReach:
    sharp = [one for one in tries if one.without_cents > 0]
    flat = [
        LipTry(one.is_altissimo, -one.without_cents, -one.watching_cents)
        for one in tries
        if one.without_cents < 0
    ]
    return LipReach(_learn_side(usual.sharp_cents, sharp), _learn_side(usual.flat_cents, flat))


def _learn_side(usual_cents: float, tries: Sequence[LipTry]) -> float:
    moved = [(max(one.without_cents - one.watching_cents, 0.0), one) for one in tries]
    short = [cents for cents, one in moved if one.watching_cents > _CLOSED_CENTS]
    reached = [cents for cents, one in moved if one.watching_cents <= _CLOSED_CENTS]
    mean = (_PRIOR_TRIES * usual_cents + sum(short)) / (_PRIOR_TRIES + len(short))
    return max([mean, *reached])
