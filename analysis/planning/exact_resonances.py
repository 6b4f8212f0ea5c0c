"""Motion tables without a screening: the few states in between are computed exactly."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    TubeModel,
    UnknownGeometry,
    decode_holes,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.keywork import Layout
from analysis.pitch import KINDS
from analysis.planning.motion_cost import Bits, MotionTable, Real

_KEYWORKS_KEPT = 4
_BATCH = 1_000


@lru_cache(maxsize=_KEYWORKS_KEPT)
def find_exact_table(kind_id: str, layout: Layout) -> MotionTable:
    """Return the motion table of a kind with its keywork; the untaught tube is enough for it.

    Where nothing is known of the tube, the table knows the motion alone.

    >>> from analysis.keywork import load_layout
    >>> find_exact_table("b-flat-soprano", load_layout("soprano-17-6")).find_cents is None
    False
    >>> find_exact_table("b-flat-soprano", load_layout("soprano-german")).find_cents is None
    True
    """
    try:
        geometry = load_geometry(kind_id, layout.id)
    except UnknownGeometry:
        return MotionTable(layout)
    tube = TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))

    def find_cents(holes: Bits) -> Real:
        parts = [
            find_resonances(tube, decode_holes(some, len(layout.holes)))
            for some in np.split(holes, range(_BATCH, len(holes), _BATCH))
        ]
        return np.asarray(np.concatenate(parts) - geometry.treble_transposition_cents)

    return MotionTable(layout, find_cents, float(KINDS[kind_id].treble_shift_cents))
