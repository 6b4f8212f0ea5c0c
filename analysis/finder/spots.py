"""Spots: hole sets, each with the number of one of its resonances, and where the tube puts them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.pitch import Register, register_bounds

Bits = NDArray[np.uint64]
Real = NDArray[np.float64]
Numbers = NDArray[np.int64]

# The first resonance is the extension's, the chalumeau's or the throat's, by its height; the second
# is the clarion's, all above the altissimo's (`analysis.acoustics.find_register`).
ALTISSIMO_NUMBER = 3
_FIRST_BOUNDS = np.array(
    [float(register_bounds(one)[1]) for one in (Register.EXTENSION, Register.CHALUMEAU)]
)


@dataclass(frozen=True, slots=True)
class Spots:
    """Some spots: hole sets, numbers of the resonance, and the tube's cents, each of shape (n,).

    Cents are written, in treble notation; they are not-a-number where the tube has no such
    resonance.
    """

    holes: Bits
    numbers: Numbers
    cents: Real

    def __len__(self) -> int:
        return len(self.holes)

    def select(self, places: NDArray[np.bool_] | NDArray[np.int64]) -> Spots:
        """Select some of the spots; `places` of shape (any,), or a mask (n,)."""
        return Spots(self.holes[places], self.numbers[places], self.cents[places])

    @property
    def codes(self) -> Bits:
        """One number for each spot that tells it from all others."""
        return (self.holes << np.uint64(3)) | self.numbers.astype(np.uint64)

    @property
    def names(self) -> list[int]:
        """The same as plain numbers, to look them up by."""
        return [int(code) for code in self.codes.tolist()]

    @property
    def registers(self) -> NDArray[np.int64]:
        """The register of each, as its place in the order of `Register`."""
        first = np.searchsorted(_FIRST_BOUNDS, self.cents, side="right")
        higher = np.minimum(self.numbers, ALTISSIMO_NUMBER) + 1
        return np.where(self.numbers == 1, first, higher).astype(np.int64)
