"""Amplitude spectrum by pitch-synchronous windows: the partials, and what sounds between them.

Timbre (`colour`) is told from it.

Hann windows of whole periods, at least five and 45 ms, as long as the pitch at their place asks
for: each partial then stands in one bin, with all others on the zeros of the window's spectrum. At
most 64 windows, spread evenly, so that a long take costs no more than one of a few seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.phase_vocoder import MIN_PERIODS, MIN_WINDOW_S, TOP_HZ
from analysis.recording.pitch_curve import PitchCurve
from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]

MOST_WINDOWS = 64


@dataclass(frozen=True, slots=True)
class PartialReadings:
    """Powers of partials 1 to k in m windows of `periods` periods, and half-way above each (m, k).

    A partial of amplitude a has power a^2. `noise` is the mean of the two middle bins, on the same
    scale: only these lie outside the main lobes of partials five bins apart.
    """

    periods: int
    power: Floats
    noise: Floats


def read_partials(samples: Samples, sample_rate_hz: float, curve: PitchCurve) -> PartialReadings:
    """Read the partials up to 8 kHz (0.45 of the sample rate if that is lower) along a pitch curve.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`.
    """
    pitch_hz = curve.f0_hz * 2 ** (curve.cents / 1200)
    periods = max(MIN_PERIODS, int(np.ceil(MIN_WINDOW_S * curve.f0_hz)))
    top_hz = min(TOP_HZ, 0.45 * sample_rate_hz)
    numbers = np.arange(1, max(1, int(top_hz / (1.03 * pitch_hz.max()))) + 1)
    centres_s = _spread_windows(curve, periods / curve.f0_hz)
    sizes = np.round(
        periods * sample_rate_hz / np.interp(centres_s, curve.times_s, pitch_hz)
    ).astype(np.intp)
    starts = np.round(centres_s * sample_rate_hz - sizes / 2).astype(np.intp)
    starts = np.clip(starts, 0, len(samples) - sizes)
    power = np.empty((len(sizes), len(numbers)), dtype=np.float32)
    noise = np.empty_like(power)
    for size in np.unique(sizes):
        rows = sizes == size
        bins = _find_powers(samples, starts[rows], int(size))
        power[rows] = bins[:, np.minimum(numbers * periods, size // 2)]
        middle = np.minimum((numbers * 2 + 1) * periods // 2, size // 2 - 1)
        noise[rows] = 0.5 * (bins[:, middle] + bins[:, middle + 1])
    release_pages(samples)
    return PartialReadings(periods, power, noise)


def _spread_windows(curve: PitchCurve, window_s: float) -> Floats:
    """Middles of windows that overlap by half, or less where that would be too many."""
    from_s, to_s = float(curve.times_s[0]), float(curve.times_s[-1])
    count = 1 + int(2 * (to_s - from_s) / window_s)
    return np.linspace(from_s, to_s, min(MOST_WINDOWS, count))


def _find_powers(samples: Samples, starts: NDArray[np.intp], size: int) -> Floats:
    """Powers in all bins of windows of one size; a partial of amplitude a shows as a^2."""
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    rows = np.lib.stride_tricks.sliding_window_view(samples, size)[starts]
    window = np.hanning(size + 1)[:-1].astype(np.float32) * (4 / size)
    bins = fft.rfft(np.multiply(rows, window, dtype=np.float32), axis=1)
    return np.asarray(bins.real**2 + bins.imag**2)
