"""Motion table of a kind of clarinet with its keywork, each in memory once.

The tube's resonances are computed exactly for the few hole sets that a passage meets, without a
screening of the layout, so that the same passage costs the same whether a model is there or not.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    Geometry,
    TubeModel,
    UnknownGeometry,
    decode_holes,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.keywork import Layout
from analysis.pitch import KINDS
from analysis.planning.motion_cost import MotionTable

Bits = NDArray[np.uint64]
Real = NDArray[np.float64]

_TABLES_KEPT = 8
_HOLES_KEPT = 200_000


@lru_cache(maxsize=_TABLES_KEPT)
def load_motion_table(kind_id: str, layout: Layout) -> MotionTable:
    """Return the motion table of a kind with a keywork; what it knows stays in memory.

    Where nothing is known of the tube no surcharge is made for what sounds in between.
    """
    try:
        geometry = load_geometry(kind_id, layout.id)
    except UnknownGeometry:
        return MotionTable(layout)
    shift = float(KINDS[kind_id].treble_shift_cents)
    return MotionTable(layout, _ExactResonances(geometry, layout).find_cents, shift)


class _ExactResonances:
    """Resonances of hole sets, each computed once."""

    def __init__(self, geometry: Geometry, layout: Layout) -> None:
        self._shift = geometry.treble_transposition_cents
        self._model = TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))
        self._hole_count = len(layout.holes)
        self._known: dict[int, Real] = {}

    def find_cents(self, holes: Bits) -> Real:
        """Find the resonances of hole sets (n,), written cents in treble notation (n, 5)."""
        numbers = holes.tolist()
        missing = [each for each in dict.fromkeys(numbers) if each not in self._known]
        if len(self._known) + len(missing) > _HOLES_KEPT:
            self._known.clear()
            missing = list(dict.fromkeys(numbers))
        if missing:
            states = decode_holes(np.array(missing, dtype=np.uint64), self._hole_count)
            found = find_resonances(self._model, states) - self._shift
            self._known.update(zip(missing, found, strict=True))
        return np.array([self._known[each] for each in numbers])
