"""Spectral peaks (lines) above a noise floor, by parabolic interpolation; and mains hum among them.

All work goes by several spectra at a time, one a row.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.order_statistics import pick_quantile

Floats = NDArray[np.floating[Any]]

LOWEST_HZ = 40.0
LINE_OVER_FLOOR = 20.0  # in power; white noise exceeds it once in e^20 bins
LINE_UNDER_STRONGEST = 10**-3.5
MAX_LINES = 24
MAINS_HZ = (50.0, 60.0)
HUM_ORDERS = 6
HUM_REACH_HZ = 1.0
SUSPECT_ORDERS = 10
ENOUGH_BINS = 40  # for a median; neighbours tell much the same
TINY = np.finfo(np.float32).tiny


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of n spectra, strongest first: frequencies in Hz and powers, both of shape (n, k).

    Power 0 is no line.
    """

    freq_hz: Floats
    power: Floats

    @property
    def exist(self) -> NDArray[np.bool_]:
        """Which are lines, shape (n, k); the others fill a row up."""
        return self.power > 0

    def only(self, kept: NDArray[np.bool_]) -> Lines:
        """Without those that are not `kept`, shape (n, k)."""
        power = np.where(kept, self.power, 0.0)
        order = np.argsort(-power, axis=1, kind="stable")
        return Lines(
            np.take_along_axis(self.freq_hz, order, axis=1),
            np.take_along_axis(power, order, axis=1),
        )

    def of_rows(self, rows: NDArray[np.intp]) -> Lines:
        """The lines of some of the spectra; `rows` of shape (any,) are their numbers."""
        return Lines(self.freq_hz[rows], self.power[rows])


def estimate_floor(power: Floats, bin_hz: float) -> Floats:
    """Mean noise power at each bin of spectra (n, bins), from medians over bands.

    `power` are powers at multiples of `bin_hz` from 0 Hz; returns the same shape. A band is as wide
    as a quarter of its frequency. White noise has exponentially distributed
    power, whose mean is its median / ln 2. Bands are at least 130 Hz wide, so that the lines of a
    low note don't fill half of one.
    """
    edges = [0]
    while edges[-1] < power.shape[1]:
        edges.append(edges[-1] + max(4, int(max(130.0, 0.25 * edges[-1] * bin_hz) / bin_hz)))
    edges[-1] = power.shape[1]
    if len(edges) > 2 and edges[-1] - edges[-2] < 4:
        del edges[-2]
    floor = np.empty_like(power)
    for low, high in pairwise(edges):
        every = max(1, (high - low) // ENOUGH_BINS)
        median = pick_quantile(power[:, low:high:every], axis=1)
        floor[:, low:high] = median[:, np.newaxis] / np.log(2)
    return floor


def find_lines(power: Floats, floor: Floats, bin_hz: float) -> Lines:
    """Find the strongest peaks of power spectra; frequencies by a parabola through logarithms.

    `power` and `floor` of shape (n, bins), at multiples of `bin_hz` from 0 Hz.
    """
    middle = power[:, 1:-1]
    strongest = power.max(axis=1, keepdims=True)
    bottom = np.maximum(LINE_OVER_FLOOR * floor[:, 1:-1], LINE_UNDER_STRONGEST * strongest)
    is_line = (middle > power[:, :-2]) & (middle >= power[:, 2:]) & (middle > bottom)
    is_line[:, : int(LOWEST_HZ / bin_hz)] = False
    row, at = np.nonzero(is_line)
    most = min(MAX_LINES, max(1, int(np.bincount(row, minlength=1).max())))
    order = np.lexsort((-middle[row, at], row))
    row, at = row[order], at[order] + 1
    place = np.arange(len(row)) - np.searchsorted(row, row)
    row, at, place = (each[place < most] for each in (row, at, place))
    left, top, right = (np.log(power[row, at + step] + TINY) for step in (-1, 0, 1))
    lines = Lines(np.ones((len(power), most)), np.zeros((len(power), most)))
    lines.freq_hz[row, place] = (at + 0.5 * (left - right) / (left - 2 * top + right)) * bin_hz
    lines.power[row, place] = power[row, at]
    return lines


def is_near_mains(freq_hz: Floats) -> NDArray[np.bool_]:
    """Which frequencies lie within 1 Hz of one of the first multiples of the mains.

    `freq_hz` in Hz, of any shape; returns the same shape.

    >>> is_near_mains(np.array([49.5, 58.3, 119.4, 1000.0])).tolist()
    [True, False, True, False]
    """
    is_near = np.zeros(freq_hz.shape, dtype=bool)
    for mains_hz in MAINS_HZ:
        is_near |= _find_orders(freq_hz, mains_hz, SUSPECT_ORDERS) > 0
    return is_near


def drop_hum(lines: Lines) -> Lines:
    """Without a series of low multiples of the mains that is 6 dB under the strongest line.

    A low note that happens to lie on such a series keeps its higher partials, which tell its pitch.
    """
    is_kept = lines.exist
    strongest = lines.power[:, :1]
    for mains_hz in MAINS_HZ:
        order = _find_orders(lines.freq_hz, mains_hz, HUM_ORDERS)
        is_hum = (order > 0) & (lines.power < 0.25 * strongest)
        is_series = np.count_nonzero(is_hum & lines.exist & (order <= HUM_ORDERS - 2), axis=1) >= 2
        is_series &= order[:, 0] == 0  # the note itself may be the series
        is_kept &= ~(is_hum & is_series[:, np.newaxis])
    return lines.only(is_kept)


def _find_orders(freq_hz: Floats, mains_hz: float, highest: int) -> Floats:
    """Of which multiple of the mains each frequency lies within reach; 0 for none."""
    order = np.rint(freq_hz / mains_hz)
    is_near = (order <= highest) & (np.abs(freq_hz - order * mains_hz) < HUM_REACH_HZ)
    return np.where(is_near, order, 0.0)
