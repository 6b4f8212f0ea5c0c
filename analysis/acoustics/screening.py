"""Screening: resonances of many hole states of one tube, by meeting in the middle.

The tube is cut at its middle hole. For every state of the holes above the cut there is one matrix,
for every state below it one pair of pressure and flow, on a grid of frequencies that all states
share. The sign of the imaginary part of the input admittance is that of a sum of four products,
each of a number from above and one from below. That sum has no poles; its upward zeros are placed
by polynomials through eight grid points.

A layout has up to some 700,000 hole states that hands can reach, and a suggestion asks for some
thousands: those within a few keys of an ordinary fingering. So each is computed when it is first
asked for, many at once, and kept.

Source of the cut: common practice with chains of matrices; the four-number form follows from
Im(U p*) = Im((C q + D V)(A q + B V)*) for a matrix A, B, C, D above and pressure q, flow V below.
"""

from __future__ import annotations

import hashlib
import threading
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.air import CALIBRATION_TEMPERATURE_C
from analysis.acoustics.geometry import Geometry
from analysis.acoustics.linkage import Bits
from analysis.acoustics.resonances import RESONANCE_COUNT
from analysis.acoustics.split_tube import SplitTube
from analysis.acoustics.tube_model import TubeModel
from analysis.keywork import Layout

# Changes whenever the same figures would give other results.
METHOD_VERSION = "3"
Single = NDArray[np.float32]
# So many hole sets are computed at once: bounds memory.
_BATCH = 8_000


class Screened(NamedTuple):
    """Where hole sets can sound.

    Attributes:
        holes: hole sets, shape (n,) (see `linkage`).
        written_cents: shape (n, 5), treble notation; not-a-number for no such resonance.
        heights: shape (n, 5), impedance over the characteristic impedance of the bore's top.
    """

    holes: Bits
    written_cents: Single
    heights: Single

    def select(self, places: NDArray[np.int64]) -> Screened:
        """Select some of the hole sets; `places` of shape (any,)."""
        return Screened(self.holes[places], self.written_cents[places], self.heights[places])


class Screening:
    """Resonances of a tube's hole sets, each computed once; threads may share it.

    Args:
        model: the tube in its air.
    """

    def __init__(self, model: TubeModel) -> None:
        self._tube = SplitTube(model)
        self._shift_cents = model.geometry.treble_transposition_cents
        self._lock = threading.Lock()
        empty = np.zeros((0, RESONANCE_COUNT), dtype=np.float32)
        self._known = Screened(np.zeros(0, dtype=np.uint64), empty, empty)

    @property
    def known(self) -> Screened:
        """All that was computed so far; hole sets are rising, each once."""
        return self._known

    def add(self, screened: Screened) -> None:
        """Add what was computed before, by the same figures, in any order."""
        with self._lock:
            self._join(screened)

    def find(self, holes: Bits) -> Screened:
        """Find where hole sets can sound, shape (n,), in any order and also more than once.

        The same for the same hole set, but for rounding. Against the exact zeros cents are right
        to a few hundredths; where a resonance is shallow to a cent, above the third to three.
        """
        known = self._known
        places = _find_places(known.holes, holes)
        if (places < 0).any():
            with self._lock:
                self._compute(np.unique(holes[places < 0]))
                known = self._known
            places = _find_places(known.holes, holes)
        return known.select(places)

    def _compute(self, holes: Bits) -> None:
        missing = holes[_find_places(self._known.holes, holes) < 0]
        for first in range(0, len(missing), _BATCH):
            some = missing[first : first + _BATCH]
            found = self._tube.find(some)
            cents = (found.cents - self._shift_cents).astype(np.float32)
            self._join(Screened(some, cents, found.heights.astype(np.float32)))

    def _join(self, fresh: Screened) -> None:
        known = self._known
        together = Screened(
            np.concatenate([known.holes, fresh.holes]),
            np.concatenate([known.written_cents, fresh.written_cents]),
            np.concatenate([known.heights, fresh.heights]),
        )
        _, places = np.unique(together.holes, return_index=True)
        self._known = together.select(places)


def _find_places(listed: Bits, holes: Bits) -> NDArray[np.int64]:
    """Find where hole sets, shape (n,), are in a rising list; -1 for those not there."""
    if not len(listed):
        return np.full(len(holes), -1, dtype=np.int64)
    places = np.minimum(np.searchsorted(listed, holes), len(listed) - 1)
    return np.where(listed[places] == holes, places, -1).astype(np.int64)


def find_fingerprint(
    geometry: Geometry,
    layout: Layout,
    *,
    temperature_c: float = CALIBRATION_TEMPERATURE_C,
) -> str:
    """Digest everything that a screening depends on: figures, keywork, air, method."""
    keys = tuple((key.id, layout.reach(key), key.states) for key in layout.keys)
    pairs = sorted(sorted(pair) for pair in layout.together)
    parts = (
        METHOD_VERSION,
        geometry.fingerprint,
        (layout.id, layout.version, keys, layout.holes, pairs),
        temperature_c,
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()
