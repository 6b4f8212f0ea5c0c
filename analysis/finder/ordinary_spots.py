"""Spots of the ordinary fingerings, and the anchor errors of the altissimo.

No tube was calibrated by the altissimo, but its ordinary fingerings are in tune on any good
instrument, within some cents: anchors. What the tube gets wrong between and beyond them follows by
Gaussian process regression over pitch (Rasmussen & Williams 2006, section 2.7: a line with unknown
coefficients and a smooth curve). Near the anchors it is known, beyond them less and less. What an
anchor does not share with the others is its own, and that of fingerings a hole or two away.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import Linkage, TubeModel, decode_holes, find_resonances
from analysis.acoustics.calibration_notes import list_notes
from analysis.finder.spots import ALTISSIMO_NUMBER, Real, Spots
from analysis.keywork import Layout, fingerings_to_try, ordinary_fingerings
from analysis.pitch import Register, register_of

# A fingering of the altissimo that no resonance comes so near to is not known to the tube.
_HIGH_REACH_CENTS = 90.0
# How far ordinary notes are from where they should be; of the variance the share that belongs to
# the fingering, and how many differing holes weaken that by e. Judgement.
_IN_TUNE_CENTS = 4.0
_OWN_SHARE, _HOLES_APART = 0.8, 1.0
# How far a tube may be off: all alike; for each semitone, as one does that has no reed term; and in
# a curve. Judgement, by the shipped tubes.
_CONSTANT_CENTS, _CENTS_PER_SEMITONE = 15.0, 4.0
_CURVE_CENTS, _CURVE_LENGTH_CENTS = 6.0, 400.0
# From B5 to above C7; so many ways in which the errors are unknown make up nearly all of it.
_LOWEST_CENTS, _HIGHEST_CENTS, _STEP_CENTS = 8300.0, 9700.0, 50.0
_WAYS = 5


class Ordinary(NamedTuple):
    """Ordinary spots, where each should sound in written cents, and which anchor the altissimo."""

    spots: Spots
    wanted: Real
    is_anchor: NDArray[np.bool_]


def find_ordinary(layout: Layout, linkage: Linkage, model: TubeModel) -> Ordinary:
    """Find the ordinary spots of a layout exactly, whether its screening holds them or not.

    Below the altissimo those that tubes are calibrated by. In the altissimo every choice, and what
    is worth trying above, on the resonance that comes near the note, if one does.
    """
    notes = [note for note in list_notes(layout) if note.number < ALTISSIMO_NUMBER]
    high = [
        one
        for one in (*ordinary_fingerings(layout), *fingerings_to_try(layout))
        if register_of(one.written) is Register.ALTISSIMO
    ]
    fingerings = [note.fingering for note in notes] + [one.fingering for one in high]
    keys = np.array([linkage.encode(one) for one in fingerings], dtype=np.uint64)
    holes = linkage.find_holes(keys)
    written = [note.written for note in notes] + [one.written for one in high]
    wanted = np.array([float(one.cents) for one in written])
    found = find_resonances(model, decode_holes(holes, len(layout.holes)))
    found -= model.geometry.treble_transposition_cents
    apart = np.where(np.isnan(found), np.inf, np.abs(found - wanted[:, np.newaxis]))
    apart[:, : ALTISSIMO_NUMBER - 1] = np.inf
    numbers = np.argmin(apart, axis=1) + 1
    numbers[: len(notes)] = [note.number for note in notes]
    rows = np.arange(len(fingerings))
    cents = found[rows, numbers - 1]
    is_known = np.isfinite(cents)
    is_known[len(notes) :] &= apart[rows, numbers - 1][len(notes) :] < _HIGH_REACH_CENTS
    is_anchor = is_known.copy()
    is_anchor[: len(notes)] = False
    is_anchor[len(notes) :] &= [not one.is_to_try and one.choice == 1 for one in high]
    spots = Spots(holes, numbers.astype(np.int64), cents)
    _, first = np.unique(spots.codes, return_index=True)
    kept = np.sort(first[is_known[first]])
    return Ordinary(spots.select(kept), wanted[kept], is_anchor[kept])


class Anchors(NamedTuple):
    """Error of the tube in the altissimo.

    `cents` rise, where the tube puts a note, shape (n,); `errors` how far that is too high, shape
    (n,); `root` what one standard deviation of each way in which this is unknown does, cents, shape
    (n, ways). `spots` are the m anchors, `own` what each is off by itself, cents, shape (m,).
    """

    cents: Real
    errors: Real
    root: Real
    spots: Spots
    own: Real

    def find_errors(self, spots: Spots) -> Real:
        """Find how far too high the tube puts spots, cents, shape (n,); 0 below the altissimo."""
        shared = np.interp(spots.cents, self.cents, self.errors)
        apart = np.bitwise_count(spots.holes[:, np.newaxis] ^ self.spots.holes)
        like = np.exp(-(apart / _HOLES_APART))
        like = np.where(spots.numbers[:, np.newaxis] == self.spots.numbers, like, 0.0)
        return np.where(spots.numbers >= ALTISSIMO_NUMBER, shared + like @ self.own, 0.0)

    def find_rows(self, spots: Spots) -> Real:
        """Find what one standard deviation of each way this is unknown does, shape (n, ways)."""
        rows = [np.interp(spots.cents, self.cents, way) for way in self.root.T]
        is_high = spots.numbers >= ALTISSIMO_NUMBER
        return np.where(is_high[:, np.newaxis], np.stack(rows, axis=1), 0.0)


def find_anchors(ordinary: Ordinary) -> Anchors:
    """Find what the tube gets wrong in the altissimo from its ordinary notes.

    Without any nothing is corrected, and nothing doubted.
    """
    places = np.flatnonzero(ordinary.is_anchor)
    spots = ordinary.spots.select(places)
    grid = np.arange(_LOWEST_CENTS, _HIGHEST_CENTS + _STEP_CENTS, _STEP_CENTS)
    if not len(places):
        zeros = np.zeros((len(grid), _WAYS))
        return Anchors(grid, zeros[:, 0], zeros, spots, spots.cents)
    middle = float(np.mean(spots.cents))
    across = _correlate(grid, spots.cents, middle)
    total = _correlate(spots.cents, spots.cents, middle) + _IN_TUNE_CENTS**2 * np.eye(len(spots))
    weights = np.linalg.solve(total, spots.cents - ordinary.wanted[places])
    covariance = _correlate(grid, grid, middle) - across @ np.linalg.solve(total, across.T)
    values, ways = np.linalg.eigh(covariance)
    root = ways[:, -_WAYS:] * np.sqrt(np.maximum(values[-_WAYS:], 0.0))
    own = np.asarray(_OWN_SHARE * _IN_TUNE_CENTS**2 * weights)
    return Anchors(grid, across @ weights, root, spots, own)


def _correlate(first: Real, second: Real, middle: float) -> Real:
    """Find the prior covariance of errors at two lists of pitches (n,) and (m,): shape (n, m)."""
    apart = (first[:, np.newaxis] - second) / _CURVE_LENGTH_CENTS
    line = np.outer(first - middle, second - middle) / 100.0**2
    made = _CONSTANT_CENTS**2 + _CENTS_PER_SEMITONE**2 * line
    return np.asarray(made + _CURVE_CENTS**2 * np.exp(-0.5 * apart**2))
