"""Spots of the ordinary fingerings, and the anchor errors of the altissimo."""

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


def find_anchors(ordinary: Ordinary) -> tuple[Real, Real]:
    """Find the tube's cents of the ordinary altissimo, rising, and how far each is off."""
    places = np.flatnonzero(ordinary.is_anchor)
    places = places[np.argsort(ordinary.spots.cents[places])]
    cents = ordinary.spots.cents[places]
    return cents, cents - ordinary.wanted[places]
