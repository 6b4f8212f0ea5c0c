"""Peak tracking: the strongest partial's spectral peak every 10 ms, by parabolic interpolation.

A coarse frame lasts about as long as one turn of a vibrato, and the next comes half a turn on. So
the coarse pitch of a note with vibrato may be off by all of the vibrato, which the phase advance of
a high partial from hop to hop does not forgive: beyond half a turn (50 Hz) it can't be told from
the next whole number. Windows of 20 ms see the vibrato itself. In each, the peak of the strongest
partial near its coarse place (parabola through the logarithms of three bins) tells the pitch to a
few cents.

Limits: notes of at least 300 Hz, so that neighbouring partials stand six bins apart and more; the
pitch must stay within 90 cents of the coarse one.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.order_tracking import PitchProfile
from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]

HOP_S = 0.01
WINDOW_S = 0.02
LEAST_HZ = 300.0
MOST_PARTIALS = 8
REACH = 2 ** (90 / 1200) - 1
PAD = 2  # zeros appended, so that a peak spans more bins
BLOCK_WINDOWS = 512


def track_strongest_partial(
    samples: Samples, sample_rate_hz: float, profile: PitchProfile
) -> PitchProfile:
    """Track the pitch each 10 ms from the first to the last time of a coarse profile.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`; the profile of at least
    `LEAST_HZ`.

    >>> import numpy as np
    >>> tone = 0.1 * np.sin(2 * np.pi * 880.0 * np.arange(8_000) / 8_000)
    >>> profile = PitchProfile(np.array([0.2, 0.5]), np.array([870.0, 895.0]))
    >>> bool(np.all(np.abs(track_strongest_partial(tone, 8_000, profile).f0_hz - 880.0) < 1.0))
    True
    """
    size = round(WINDOW_S * sample_rate_hz)
    times_s = np.arange(profile.times_s[0], profile.times_s[-1] + HOP_S / 2, HOP_S)
    around_hz = np.interp(times_s, profile.times_s, profile.f0_hz)
    starts = np.clip(np.round(times_s * sample_rate_hz).astype(int) - size // 2, 0, None)
    starts = np.minimum(starts, len(samples) - size)
    view = np.lib.stride_tricks.sliding_window_view(samples, size)
    found = np.empty((len(times_s), _count_partials(around_hz, sample_rate_hz)))
    level = np.zeros(found.shape[1])
    for at in range(0, len(times_s), BLOCK_WINDOWS):
        block = slice(at, at + BLOCK_WINDOWS)
        power = _find_power(view[starts[block]], size)
        for column in range(found.shape[1]):
            expected = around_hz[block] * (column + 1) * PAD * size / sample_rate_hz
            place, height = _find_peaks(power, expected)
            found[block, column] = place / (PAD * size) * sample_rate_hz / (column + 1)
            level[column] += height.sum()
        release_pages(samples)
    return PitchProfile(times_s, _without_outliers(found[:, int(np.argmax(level))]))


def _count_partials(around_hz: Floats, sample_rate_hz: float) -> int:
    top_hz = 0.45 * sample_rate_hz / (1 + REACH)
    return int(np.clip(top_hz / around_hz.max(), 1, MOST_PARTIALS))


def _find_power(rows: Samples, size: int) -> Floats:
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    window = np.hanning(size + 1)[:-1].astype(np.float32)
    bins = fft.rfft(rows.astype(np.float32) * window, PAD * size, axis=1)
    return np.asarray(bins.real**2 + bins.imag**2)


def _find_peaks(power: Floats, expected: Floats) -> tuple[Floats, Floats]:
    """Place (in bins) and height of the highest point near the expected place of each row."""
    reach = int(np.ceil(REACH * expected.max()))
    middle = np.round(expected).astype(np.intp)
    near = np.clip(middle[:, None] + np.arange(-reach, reach + 1), 1, power.shape[1] - 2)
    row = np.arange(len(power))
    top = near[row, np.argmax(power[row[:, None], near], axis=1)]
    tiny = np.finfo(np.float32).tiny
    left, high, right = (np.log(power[row, top + step] + tiny) for step in (-1, 0, 1))
    bend = left - 2 * high + right
    shift = 0.5 * (left - right) / np.where(bend < 0, bend, -1.0)
    return top + np.clip(shift, -0.5, 0.5), power[row, top]


def _without_outliers(f0_hz: Floats) -> Floats:
    padded = np.pad(f0_hz, 1, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 3), axis=1))
