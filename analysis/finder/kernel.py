"""The kernel of the finder's Gaussian process, as features.

What the tube may get wrong about a spot is a sum of terms of three groups. Each group has a scale
that is learned with it (`hyperparameters`), so what stands here is how the terms of a group
compare:

- `PLAYER`: one constant for the whole instrument (pulled barrel, warm-up, tuning A), one for each
  register, and for each register a smooth curve over pitch, squared exponential over 400 cents;
  in the altissimo, by which no tube was calibrated, both are twice as large, and each
  resonance above the third has a constant of its own;
- `SHARE`: a share of the shift from the base, half of it common to all registers, half each one's
  own: the tube exaggerates, or plays down;
- `TUBE`: the measures of the tube: sensitivities times the posterior covariance of the
  calibration; and in the altissimo what its ordinary notes leave unknown (`ordinary_spots`).
  What a bound takes from large sensitivities (`bound_rows`) is not learned from other fingerings,
  and no better known for that: it is added to what each fingering has of its own.

All are linear in some features with independent weights, so a covariance is a product of
features (Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, sections 2.1 and
4.2). The curve, which is not, is projected on points `_KNOT_CENTS` apart (section 8.3.2): at half
the length of the curve that loses next to nothing. Besides these each fingering has something of
its own, described by `Own`. Relative sizes: judgement, from memory.
"""

from __future__ import annotations

from enum import IntEnum
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.finder.principal_components import bound_rows
from analysis.finder.spots import ALTISSIMO_NUMBER, Real, Spots
from analysis.finder.tube import Tube
from analysis.pitch import Register, register_bounds

CURVE_LENGTH_CENTS = 400.0
_REGISTER_SHARE, _CURVE_SHARE = 0.6, 0.8
_HIGH_REGISTER_SHARE, _HIGH_CURVE_SHARE, _HIGH_NUMBER_SHARE = 1.2, 1.6, 1.6
_HIGH_NUMBERS = np.array([4, 5])
PLAYER_SIZE = (1.0 + _REGISTER_SHARE**2 + _CURVE_SHARE**2) ** 0.5
_EVEN = 0.5**0.5
_KNOT_CENTS = 200.0
# Written C3 to C7: lower and higher nothing is played.
_LOWEST_CENTS, _HIGHEST_CENTS = 4800.0, 9600.0
# How a half-hole is set differs each time: judgement, from memory.
SHADED_CENTS = 25.0
# What a fingering of the altissimo has of its own besides: judgement, on simulated players.
HIGH_OWN_CENTS = 4.0


class Group(IntEnum):
    """The groups of features that share a scale."""

    PLAYER = 0
    SHARE = 1
    TUBE = 2


class Own(NamedTuple):
    """What each fingering may have of its own: how the parts of its variance grow, each (n,).

    `shift` is the distance from the base in cents, `reach` how far the measures of the tube may
    move it in cents, `fixed` a variance in cents^2 that is not learned.
    """

    shift: Real
    reach: Real
    fixed: Real

    def select(self, places: NDArray[np.int64] | NDArray[np.bool_]) -> Own:
        """Select some of the fingerings; `places` of shape (any,), or a mask (n,)."""
        return Own(self.shift[places], self.reach[places], self.fixed[places])


class Described(NamedTuple):
    """Spots as the learning sees them: `features` (n, features) and what each has of its own."""

    features: Real
    own: Own


def describe(tube: Tube, spots: Spots) -> Described:
    """Describe spots for the learning; products of features are the prior covariance."""
    _, shifts = tube.find_bases(spots)
    whole = tube.find_rows(spots)
    rows = bound_rows(whole)
    features = np.hstack([_find_quick(tube, spots, shifts), rows])
    is_shaded = (spots.holes & tube.linkage.half_hole_bits) != 0
    fixed = is_shaded * SHADED_CENTS**2 + find_is_high(spots) * HIGH_OWN_CENTS**2
    fixed = fixed + np.sum(whole**2, axis=1) - np.sum(rows**2, axis=1)
    own = Own(np.abs(shifts), np.linalg.norm(rows, axis=1), fixed)
    return Described(features, own)


def describe_quickly(tube: Tube, spots: Spots) -> Real:
    """Describe spots without the measures of the tube, which take long: the first features."""
    return _find_quick(tube, spots, tube.find_bases(spots)[1])


def _find_quick(tube: Tube, spots: Spots, shifts: Real) -> Real:
    parts = _find_player(spots), _find_shares(spots, shifts), tube.anchors.find_rows(spots)
    return np.hstack(parts)


def find_is_high(spots: Spots) -> NDArray[np.bool_]:
    """Find spots on the third resonance and above, shape (n,)."""
    return np.asarray(spots.numbers >= ALTISSIMO_NUMBER)


def list_groups(width: int) -> NDArray[np.int64]:
    """List the group of each of the `width` features of a description, shape (width,)."""
    player = 1 + sum(1 + _find_knots(register)[1].shape[1] for register in Register)
    player += len(_HIGH_NUMBERS)
    share = 1 + len(Register)
    counts = [player, share, width - player - share]
    return np.repeat([Group.PLAYER, Group.SHARE, Group.TUBE], counts).astype(np.int64)


def _find_player(spots: Spots) -> Real:
    columns = [np.ones((len(spots), 1))]
    for place, register in enumerate(Register):
        inside = (spots.registers == place)[:, np.newaxis]
        is_high = register is Register.ALTISSIMO
        size = _HIGH_REGISTER_SHARE if is_high else _REGISTER_SHARE
        curve = _HIGH_CURVE_SHARE if is_high else _CURVE_SHARE
        constant = np.full((len(spots), 1), size)
        own = np.hstack([constant, curve * _bend(register, spots.cents)])
        columns.append(np.where(inside, own, 0.0))
    columns.append(_HIGH_NUMBER_SHARE * (spots.numbers[:, np.newaxis] == _HIGH_NUMBERS))
    return np.hstack(columns)


def _find_shares(spots: Spots, shifts: Real) -> Real:
    is_inside = spots.registers[:, np.newaxis] == np.arange(len(Register))
    together = np.ones((len(spots), 1), dtype=bool)
    return np.asarray(_EVEN * shifts[:, np.newaxis] * np.hstack([together, is_inside]))


def _bend(register: Register, cents: Real) -> Real:
    """Find features of the curve: products of them are its correlations."""
    knots, whitening = _find_knots(register)
    return np.asarray(_correlate(cents, knots) @ whitening)


@cache
def _find_knots(register: Register) -> tuple[Real, Real]:
    low, high = register_bounds(register)
    first = max(float(low), _LOWEST_CENTS) - _KNOT_CENTS
    last = min(float(high), _HIGHEST_CENTS) + _KNOT_CENTS
    knots = np.arange(first, last + _KNOT_CENTS, _KNOT_CENTS)
    values, vectors = np.linalg.eigh(_correlate(knots, knots))
    kept = values > 1e-6
    return knots, np.asarray(vectors[:, kept] / np.sqrt(values[kept]))


def _correlate(first: Real, second: Real) -> Real:
    apart = (first[:, np.newaxis] - second) / CURVE_LENGTH_CENTS
    return np.asarray(np.exp(-0.5 * apart**2))
