"""Spectrogram: level over time and (logarithmic) frequency, for looking at a recording.

For the eye, not for numbers: the pitch of a take comes from `measure_take`. Levels are dB relative
to the loudest spot of the view, rows are equal intervals (a logarithmic frequency scale), the first
row is the highest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

FLOOR_DB = -80.0
LONGEST_WINDOW_S = 0.1
SHORTEST_WINDOW_S = 0.03


@dataclass(frozen=True, slots=True)
class View:
    """A part of a recording: from and to in seconds, from and to in Hz."""

    from_s: float
    to_s: float
    low_hz: float
    high_hz: float

    def __post_init__(self) -> None:
        if not (self.from_s < self.to_s and 0 < self.low_hz < self.high_hz):
            raise ValueError(f"a view needs a length and a height: {self}")


def find_levels(
    samples: NDArray[np.floating[Any]],
    sample_rate_hz: float,
    view: View,
    *,
    columns: int = 600,
    rows: int = 240,
) -> NDArray[np.float32]:
    """Compute the levels of a view, as many columns and rows as a picture has dots.

    A Hann window of 30 to 100 ms (shorter when the view is) stands in the middle of each column;
    each row shows the strongest bin within its interval.

    Parameters: `samples` of shape (n,), full scale -1 to 1; a view that begins or ends outside the
    recording sees silence there, and above half the sample rate as well. Returns float32 of shape
    (rows, columns) in dB from `FLOOR_DB` to 0; all floor where nothing sounds.
    Limits: columns further apart than a window leave out what sounds between them.
    Source: short-time Fourier transform by `librosa.stft`, levels by `librosa.amplitude_to_db`.

    >>> import numpy as np
    >>> tone = np.sin(2 * np.pi * 440.0 * np.arange(22_050) / 22_050)
    >>> levels = find_levels(tone, 22_050, View(0.2, 0.8, 220.0, 880.0), columns=3, rows=24)
    >>> levels.shape, round(float(levels[11:13].max()), 3), bool(levels[0].max() < -40)
    ((24, 3), 0.0, True)
    """
    import librosa  # late: it loads most slowly of all, and only pictures need it

    span_s = view.to_s - view.from_s
    window_s = min(LONGEST_WINDOW_S, max(SHORTEST_WINDOW_S, span_s / 12))
    window = 2 ** round(math.log2(window_s * sample_rate_hz))
    hop = max(1, round(span_s * sample_rate_hz / columns))
    middle = round((view.from_s + span_s / columns / 2) * sample_rate_hz)
    part = _part(samples, middle - window // 2, hop * (columns - 1) + window)
    spectra = np.abs(librosa.stft(part, n_fft=window, hop_length=hop, center=False))[:, :columns]
    edges_hz = np.geomspace(view.high_hz, view.low_hz, rows + 1)
    amplitudes = _rows(spectra, edges_hz * window / sample_rate_hz)
    loudest = float(amplitudes.max())
    if loudest <= 0:
        return np.full(amplitudes.shape, FLOOR_DB, dtype=np.float32)
    levels: NDArray[np.float32] = librosa.amplitude_to_db(
        amplitudes, ref=loudest, amin=loudest * 1e-5, top_db=None
    )
    floored: NDArray[np.float32] = np.maximum(levels, FLOOR_DB).astype(np.float32)
    return floored


def _part(samples: NDArray[Any], first: int, length: int) -> NDArray[np.float32]:
    """Samples from `first` on, silence where there are none."""
    part = np.zeros(length, dtype=np.float32)
    from_index, to_index = max(0, first), min(len(samples), first + length)
    if from_index < to_index:
        part[from_index - first : to_index - first] = samples[from_index:to_index]
    return part


def _rows(spectra: NDArray[Any], edges: NDArray[np.float64]) -> NDArray[np.float32]:
    """The strongest bin between each pair of edges (in bins, falling), silence above the last."""
    found = np.zeros((len(edges) - 1, spectra.shape[1]), dtype=np.float32)
    for row, (high, low) in enumerate(pairwise(edges)):
        first = round((high + low) / 2) if high - low < 1 else math.ceil(low)
        last = max(first + 1, math.ceil(high))
        if last <= len(spectra):
            found[row] = spectra[first:last].max(axis=0)
    return found
