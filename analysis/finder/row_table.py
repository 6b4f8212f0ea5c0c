"""Table of rows by code, in single precision: a fraction of what a dictionary of arrays takes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.finder.spots import Bits, Numbers, Real

Single = NDArray[np.float32]


class RowTable:
    """Rows of one width, each found by its code.

    Args:
        width: numbers in a row.

    Attributes:
        codes: shape (n,), rising, each once.
        rows: shape (n, width).
    """

    def __init__(self, width: int) -> None:
        self.codes: Bits = np.zeros(0, dtype=np.uint64)
        self.rows: Single = np.zeros((0, width), dtype=np.float32)

    def __len__(self) -> int:
        return len(self.codes)

    def add(self, codes: Bits, rows: Real | Single) -> None:
        """Add rows, shape (n, width), under codes, shape (n,); those that are there stay."""
        together = np.concatenate([self.codes, codes])
        self.codes, places = np.unique(together, return_index=True)
        self.rows = np.concatenate([self.rows, rows.astype(np.float32)])[places]

    def list_missing(self, codes: Bits) -> Numbers:
        """List the places of codes, shape (n,), that are not there, each code once."""
        different, first = np.unique(codes, return_index=True)
        return first[~np.isin(different, self.codes, assume_unique=True)]

    def find(self, codes: Bits) -> Real:
        """Find the rows of codes that are all there, shape (n,): shape (n, width)."""
        return self.rows[np.searchsorted(self.codes, codes)].astype(np.float64)
