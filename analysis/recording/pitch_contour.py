"""Pitch contour by autocorrelation: pitch and level every 10 ms of a recording of any length.

Speech and splitting look at it. Windows of 64 ms step on by 10 ms. The autocorrelation of each,
over that of the window, is taken from its power spectrum of 40 to 5000 Hz (Boersma, "Accurate
short-term analysis of the fundamental frequency", Proc. Institute of Phonetic Sciences Amsterdam
17, 1993; from memory). The first peak nearly as high as the best is one period, and the last whole
multiple of it within 16 ms tells it finely. Good to a few cents on one sound; no substitute for
`take`, whose pitch is a hundred times finer. Work goes by blocks, so that memory follows the 10 ms
steps and not the samples.

Limits: 48 to 2600 Hz. A gap shorter than some 35 ms is not seen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import MAX_F0_HZ, MIN_F0_HZ
from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]
Progress = Callable[[float], None]

HOP_S = 0.01
FRAME_S = 0.064
BAND_HZ = (40.0, 5000.0)
FIRST_PEAK_SHARE = 0.88
FINE_LAG_S = 0.016
FINE_LAG_SHARE = 0.3  # of a window, if that is shorter
LONGEST_LAG_SHARE = 0.45  # beyond it too little of a window is left to compare
CLEAR = 0.55
BLOCK_FRAMES = 512
TINY = 1e-20


@dataclass(frozen=True, slots=True)
class Contour:
    """One row each 10 ms, all of shape (n,): its middle in seconds, its pitch in Hz (NaN where none
    is clear) and its RMS level (full scale 1)."""

    times_s: Floats
    f0_hz: Floats
    level: Floats

    def cut(self, first: int, last: int) -> Contour:
        """Rows `first` to `last - 1`."""
        rows = slice(first, last)
        return Contour(self.times_s[rows], self.f0_hz[rows], self.level[rows])


def trace_contour(
    samples: Samples,
    sample_rate_hz: float,
    *,
    frame_s: float = FRAME_S,
    hop_s: float = HOP_S,
    progress: Progress | None = None,
) -> Contour:
    """Trace pitch and level of readable samples.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`; `frame_s` is the length of a
    window: shorter ones follow quicker notes, of at least 2.2 / `frame_s`; `hop_s` is the time from
    row to row; `progress` is told the share done, 0 to 1. Returns no row where the samples are
    shorter than a window.

    >>> import numpy as np
    >>> tone = 0.1 * np.sin(2 * np.pi * 440.0 * np.arange(8_000) / 8_000)
    >>> bool(np.all(np.abs(trace_contour(tone, 8_000).f0_hz - 440.0) < 1.0))
    True
    """
    correlator = _Autocorrelator(sample_rate_hz, frame_s)
    hop = round(hop_s * sample_rate_hz)
    if len(samples) < correlator.size:
        empty = np.zeros(0)
        return Contour(empty, empty, empty)
    rows = np.lib.stride_tricks.sliding_window_view(samples, correlator.size)[::hop]
    f0_hz, level = np.full(len(rows), np.nan), np.zeros(len(rows))
    for at in range(0, len(rows), BLOCK_FRAMES):
        block = slice(at, at + BLOCK_FRAMES)
        f0_hz[block], level[block] = correlator.analyse(rows[block])
        release_pages(samples)
        if progress is not None:
            progress(min(1.0, (at + BLOCK_FRAMES) / len(rows)))
    times_s = (np.arange(len(rows)) * hop + correlator.size / 2) / sample_rate_hz
    return Contour(times_s, f0_hz, level)


class _Autocorrelator:
    """Autocorrelation of the windows of one recording, with all that is the same for each."""

    def __init__(self, sample_rate_hz: float, frame_s: float) -> None:
        from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

        self.size = int(frame_s * sample_rate_hz)
        self._fine_lag_s = min(FINE_LAG_S, FINE_LAG_SHARE * frame_s)
        self._window = np.hanning(self.size + 2)[1:-1].astype(np.float32)
        self._fft_size = fft.next_fast_len(int(1.4 * self.size), real=True)
        bin_hz = sample_rate_hz / self._fft_size
        self._low = int(np.ceil(BAND_HZ[0] / bin_hz))
        self._bins = int(min(BAND_HZ[1], 0.49 * sample_rate_hz) / bin_hz)
        self._lags = fft.next_fast_len(4 * self._bins, real=True)
        self._rate_hz = self._lags * bin_hz  # of the autocorrelation
        self._shortest = int(self._rate_hz / MAX_F0_HZ)
        longest_s = min(1 / MIN_F0_HZ, LONGEST_LAG_SHARE * frame_s)
        self._longest = int(np.ceil(self._rate_hz * longest_s)) + 2
        shape = fft.irfft(np.abs(fft.rfft(self._window, self._fft_size)) ** 2)
        at = np.arange(self._longest) * sample_rate_hz / self._rate_hz
        self._taper = np.interp(at, np.arange(self.size), shape[: self.size] / shape[0])

    def analyse(self, rows: Samples) -> tuple[Floats, Floats]:
        """Pitch and RMS of each window."""
        from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

        bins = fft.rfft(rows.astype(np.float32) * self._window, self._fft_size, axis=1)
        bins = bins[:, : self._bins]
        power = bins.real**2 + bins.imag**2
        power[:, : self._low] = 0.0
        energy = 2 * power.sum(axis=1, dtype=np.float64) / self._fft_size
        level = np.sqrt(energy / float((self._window**2).sum()))
        raw = fft.irfft(power, self._lags, axis=1)[:, : self._longest]
        curve = raw / np.maximum(raw[:, :1], TINY) / self._taper
        return self._find_f0(curve), level

    def _find_f0(self, curve: Floats) -> Floats:
        is_peak = np.zeros(curve.shape, dtype=bool)
        middle = curve[:, 1:-1]
        is_peak[:, 1:-1] = (middle > curve[:, :-2]) & (middle >= curve[:, 2:])
        is_peak[:, : self._shortest] = False
        peaks = np.where(is_peak, curve, 0.0)
        best = peaks.max(axis=1)
        first = np.argmax(peaks >= FIRST_PEAK_SHARE * best[:, None], axis=1)
        f0_hz = np.full(len(curve), np.nan)
        clear = np.flatnonzero((best > CLEAR) & (first > 0))
        period = _refine(curve[clear], first[clear])
        # the error of a peak's place counts less the more periods lie before it
        multiple = np.maximum(1, np.floor(self._fine_lag_s * self._rate_hz / period))
        near = np.round(multiple * period).astype(np.intp)
        reach = np.arange(-2, 3)
        places = np.clip(near[:, None] + reach, 1, curve.shape[1] - 2)
        heights = curve[clear][np.arange(len(clear))[:, None], places]
        top = places[np.arange(len(clear)), np.argmax(heights, axis=1)]
        f0_hz[clear] = self._rate_hz * multiple / _refine(curve[clear], top)
        return f0_hz


def _refine(curve: Floats, at: NDArray[np.intp]) -> Floats:
    """The top of the parabola through each peak and its neighbours."""
    row = np.arange(len(at))
    left, top, right = (curve[row, at + step] for step in (-1, 0, 1))
    bend = left - 2 * top + right
    shift = 0.5 * (left - right) / np.where(bend < 0, bend, -1.0)
    return np.asarray(at + np.clip(shift, -0.5, 0.5))
