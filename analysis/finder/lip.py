"""Reach of the lip: how far a player bends a note down and up, and how one fingering follows.

The reach of a register is common practice (from memory): a note goes down more easily than up,
most of all in the clarion, in the altissimo farther both ways. A fingering has more or less of it,
as its note follows the reed (`analysis.acoustics.lip`) more or less than the ordinary notes of its
register do. What the player's takes at several dynamics show checks that: a louder note, too, loads
the reed otherwise, so a fingering that follows the reed more should move more.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, TypeVar

import numpy as np

from analysis.acoustics import decode_holes
from analysis.acoustics.lip import find_lip_slopes
from analysis.finder.inputs import (
    CLARION_UP_SHARE,
    USUAL_LIP,
    DynamicSpan,
    LipReach,
    LipTry,
    PlayersLip,
    Wishes,
)
from analysis.finder.maximum_coverage import find_chances_between
from analysis.finder.spots import ALTISSIMO_NUMBER, Real, Spots
from analysis.finder.tube import Tube
from analysis.pitch import Register

# A fingering that follows the reed so much more or less than ordinary ones is not believed.
_BOUNDS = (0.5, 2.0)
# So many notes bent as far as they went are worth what is usual.
_PRIOR_TRIES = 3.0
_CLOSED_CENTS = 5.0
# How far dynamics bear out the reed: taken to be 1 with this uncertainty, spans to scatter by this
# share, and what is less than a cent to be one. Judgement.
_TRUST_SIGMA, _SPAN_SCATTER, _LEAST_SPAN_CENTS = 0.5, 0.4, 1.0
_MOST_TRUST = 1.5
# What a further chance by the lip alone is worth beside one without it: judgement.
_LIP_WORTH = 0.3

Chance = TypeVar("Chance", float, Real)


class SpotReach(NamedTuple):
    """How far spots can be bent, in cents at least 0: sharp ones down, flat ones up; each (n,)."""

    down: Real
    up: Real


def find_reach(tube: Tube, spots: Spots, lip: PlayersLip, *, trust: float = 1.0) -> SpotReach:
    """Find how far each spot can be bent by a player; spots must have cents.

    `trust` says how far the reed is borne out by the player's dynamics (`learn_trust`): at 0 all
    fingerings of a register reach alike.
    """
    share = find_lip_share(tube, spots) ** trust
    is_high, is_low = spots.numbers >= ALTISSIMO_NUMBER, spots.numbers == 1
    down = np.where(is_high, lip.altissimo.sharp_cents, lip.usual.sharp_cents)
    low_up = np.where(is_low, lip.usual.flat_cents, lip.clarion.flat_cents)
    up = np.where(is_high, lip.altissimo.flat_cents, low_up)
    return SpotReach(down * share, up * share)


def learn_trust(tube: Tube, spans: Sequence[DynamicSpan]) -> float:
    """Learn how far takes at several dynamics bear out how fingerings follow the reed.

    Method: regression of the logarithm of each span on that of the share (`find_lip_share`), with
    the player's own typical span left free and a slope that is taken to be 1 beforehand. Returns
    the slope, 0 where spans do not follow the reed at all, up to 1.5; 1 without spans. The same
    spans are worked out once.
    """
    said = [
        (tube.linkage.encode(one.fingering), one.written, one.span_cents, one.sigma_cents)
        for one in spans
    ]
    made = tube.cache.recall(f"trust-{tube.serial}-{said}", lambda: _find_trust(tube, spans))
    assert isinstance(made, float)
    return made


def _find_trust(tube: Tube, spans: Sequence[DynamicSpan]) -> float:
    keys = np.array([tube.linkage.encode(one.fingering) for one in spans], dtype=np.uint64)
    shift = tube.treble_shift_cents
    wanted = np.array([float(one.written.cents) + shift for one in spans])
    if len(spans) < 2:
        return 1.0
    spots = tube.find_nearest(tube.linkage.find_holes(keys), wanted)
    there = np.flatnonzero(np.isfinite(spots.cents))
    if len(there) < 2:
        return 1.0
    shares = np.log(find_lip_share(tube, spots.select(there)))
    cents = np.array([max(spans[place].span_cents, _LEAST_SPAN_CENTS) for place in there.tolist()])
    sigmas = np.array([spans[place].sigma_cents for place in there.tolist()])
    weights = 1.0 / (_SPAN_SCATTER**2 + (sigmas / cents) ** 2)
    apart = shares - np.average(shares, weights=weights)
    moved = np.log(cents) - np.average(np.log(cents), weights=weights)
    prior = 1.0 / _TRUST_SIGMA**2
    slope = (prior + np.sum(weights * apart * moved)) / (prior + np.sum(weights * apart**2))
    return float(np.clip(slope, 0.0, _MOST_TRUST))


def weigh_chances(chance: Chance, lip_chance: Chance) -> Chance:
    """Weigh chances without the lip and with it, 0 to 1, as one: some of what the lip adds."""
    return chance + _LIP_WORTH * (lip_chance - chance)


def find_lipped_chances(
    tube: Tube, spots: Spots, offsets: Real, sigmas: Real, wishes: Wishes
) -> Real:
    """Find how likely spots are in tune, or brought there by the player's lip, shape (n,).

    `offsets` and `sigmas` are cents from the note, shape (n,); whether they speak is left out.
    """
    lip = learn_lip(wishes.lip_tries, wishes.lip)
    reach = find_reach(tube, spots, lip, trust=learn_trust(tube, wishes.spans))
    tolerance = wishes.tolerance_cents
    return find_chances_between(offsets, sigmas, -tolerance - reach.up, tolerance + reach.down)


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

    >>> bent = LipTry(Register.CLARION, without_cents=30.0, watching_cents=14.0)
    >>> learn_lip([bent] * 3).usual
    LipReach(sharp_cents=20.5, flat_cents=10.0)
    """
    return PlayersLip(
        _learn(start.usual, [one for one in tries if one.register is not Register.ALTISSIMO]),
        _learn(start.altissimo, [one for one in tries if one.register is Register.ALTISSIMO]),
    )


def _learn(usual: LipReach, tries: Sequence[LipTry]) -> LipReach:
    sharp = [
        _Bend(one.without_cents - one.watching_cents, one.watching_cents > _CLOSED_CENTS)
        for one in tries
        if one.without_cents > 0
    ]
    # in the clarion a note goes up less, so what was reached there is worth more elsewhere
    flat = [
        _Bend(
            (one.watching_cents - one.without_cents)
            / (CLARION_UP_SHARE if one.register is Register.CLARION else 1.0),
            one.watching_cents < -_CLOSED_CENTS,
        )
        for one in tries
        if one.without_cents < 0
    ]
    return LipReach(_learn_side(usual.sharp_cents, sharp), _learn_side(usual.flat_cents, flat))


class _Bend(NamedTuple):
    """How far a note was brought towards its place, and whether it stayed short of it."""

    cents: float
    is_short: bool


def _learn_side(usual_cents: float, bends: Sequence[_Bend]) -> float:
    short = [max(one.cents, 0.0) for one in bends if one.is_short]
    reached = [max(one.cents, 0.0) for one in bends if not one.is_short]
    mean = (_PRIOR_TRIES * usual_cents + sum(short)) / (_PRIOR_TRIES + len(short))
    return max([mean, *reached])
