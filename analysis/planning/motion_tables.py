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
_BATCH = 1_000


@lru_cache(maxsize=_TABLES_KEPT)
def load_motion_table(kind_id: str, layout: Layout) -> MotionTable:
    """Return the motion table of a kind with a keywork; what it knows stays in memory.

    The untaught tube is enough for it. Where nothing is known of the tube no surcharge is made for
    what sounds in between. Several threads may ask the same table.

    >>> from analysis.keywork import load_layout
    >>> load_motion_table("b-flat-soprano", load_layout("soprano-17-6")).find_cents is None
    False
    >>> load_motion_table("b-flat-soprano", load_layout("soprano-german")).find_cents is None
    True
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
        different = list(dict.fromkeys(holes.tolist()))
        known = self._known  # another thread may begin a new one
        found = {each: known[each] for each in different if each in known}
        missing = np.array([each for each in different if each not in found], dtype=np.uint64)
        if len(self._known) + len(missing) > _HOLES_KEPT:
            self._known = {}
        for start in range(0, len(missing), _BATCH):
            some = missing[start : start + _BATCH]
            cents = find_resonances(self._model, decode_holes(some, self._hole_count))
            found.update(zip(some.tolist(), cents - self._shift, strict=True))
        self._known.update(found)
        return np.array([found[each] for each in holes.tolist()])
