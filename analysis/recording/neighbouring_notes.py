"""Two notes close together by recurring line pairs: a second series beside every partial.

Two players a semitone apart sound as two series whose partials lie beside each other at the same
ratio: 1.06 at the fundamental, 1.06 at its twelfth. Vibrato and flutter put lines beside partials
as well, but at the same distance in Hz, and on both sides. So a pair of lines is taken for two
fundamentals when the pair comes again at multiples of them with nothing between, holds most of the
power, and has no mirror image.

The spectrum is the mean over windows of 0.5 s (Hann), whose lines are told apart from 8 Hz on.

Limits: 25 to 150 cents, from 8 Hz on; both fundamentals must be heard, and one more partial of
each, that is no multiple of the mains; the softer line of a pair within 25 dB of the stronger;
pitches that hold still for 0.5 s.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import MAX_F0_HZ, MIN_F0_HZ
from analysis.recording.measurement import Component
from analysis.recording.samples import Samples, release_pages
from analysis.recording.spectral_lines import Lines, estimate_floor, find_lines, is_near_mains

Floats = NDArray[np.floating[Any]]

WINDOW_S = 0.5
LEAST_S = 0.25
MOST_WINDOWS = 10
TOP_HZ = 6_000.0
APART_CENTS = (25.0, 150.0)
SAME_CENTS = 5.0
TOLERANCE_BINS = 0.5
LEAST_LEVEL = 10**-2.5
MIRROR_LEVEL = 0.1
LEAST_PAIRS = 2
MOST_PARTIALS = 12
LEAST_POWER = 0.5


def find_neighbours(samples: Samples, sample_rate_hz: float) -> tuple[Component, ...]:
    """The two notes of samples that hold still, louder first; empty where it is no such pair.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`: a part in which the same
    sounds from beginning to end.

    >>> time_s = np.arange(8_000) / 8_000
    >>> both = sum(np.sin(2 * np.pi * k * hz * time_s) / k for hz in (440.0, 466.2) for k in (1, 3))
    >>> sorted(round(each.f0_hz) for each in find_neighbours(both, 8_000))
    [440, 466]
    """
    lines = _find_lines(samples, sample_rate_hz)
    if lines is None:
        return ()
    freq_hz, power, bin_hz = lines
    best: tuple[float, tuple[Component, ...]] = (LEAST_POWER, ())
    for low in range(len(freq_hz)):
        for high in range(len(freq_hz)):
            cents = 1200 * np.log2(freq_hz[high] / freq_hz[low])
            if APART_CENTS[0] <= cents <= APART_CENTS[1] and MIN_F0_HZ <= freq_hz[low] <= MAX_F0_HZ:
                best = max(best, _fit_pair(freq_hz, power, bin_hz, (low, high)))
    return best[1]


def _find_lines(samples: Samples, rate_hz: float) -> tuple[Floats, Floats, float] | None:
    """Frequencies and powers of the lines, both of shape (k,), and the distance of two bins."""
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    if len(samples) < LEAST_S * rate_hz:
        return None
    size = min(len(samples), fft.next_fast_len(int(WINDOW_S * rate_hz), real=True))
    starts = np.linspace(0, len(samples) - size, min(MOST_WINDOWS, 2 * len(samples) // size - 1))
    rows = np.lib.stride_tricks.sliding_window_view(samples, size)[starts.astype(np.intp)]
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    bins = fft.rfft(rows.astype(np.float32) * window, axis=1)[:, : int(TOP_HZ / rate_hz * size)]
    release_pages(samples)
    power = (bins.real**2 + bins.imag**2).mean(axis=0, keepdims=True)
    bin_hz = rate_hz / size
    lines: Lines = find_lines(power, estimate_floor(power, bin_hz), bin_hz)
    return lines.freq_hz[lines.exist], lines.power[lines.exist], bin_hz


def _fit_pair(
    freq_hz: Floats, power: Floats, bin_hz: float, pair: tuple[int, int]
) -> tuple[float, tuple[Component, ...]]:
    """The share of the power that two series on a pair of lines hold together, and the series."""
    low_hz, high_hz = float(freq_hz[pair[0]]), float(freq_hz[pair[1]])
    nothing = (0.0, ())
    least = MIRROR_LEVEL * min(power[pair[0]], power[pair[1]])
    for mirror_hz in (low_hz**2 / high_hz, high_hz**2 / low_hz):
        at = _find_line(freq_hz, mirror_hz, bin_hz)
        if at is not None and power[at] > least:
            return nothing
    taken: list[tuple[int, int, int]] = []
    for number in range(1, MOST_PARTIALS + 1):
        one, other = (_find_line(freq_hz, number * hz, bin_hz) for hz in (low_hz, high_hz))
        if one is None or other is None or one == other:
            continue
        softer, stronger = sorted((one, other), key=lambda at: float(power[at]))
        is_hum = bool(is_near_mains(freq_hz[softer : softer + 1])[0])
        if power[softer] >= LEAST_LEVEL * power[stronger] and not is_hum:
            taken.append((number, one, other))
    if len(taken) < LEAST_PAIRS or _are_sidebands(freq_hz, power, bin_hz, taken):
        return nothing
    share = sum(float(power[one] + power[other]) for _, one, other in taken) / float(power.sum())
    series = [
        (
            float(np.mean([freq_hz[each[side]] / each[0] for each in taken])),
            float(sum(power[each[side]] for each in taken)),
        )
        for side in (1, 2)
    ]
    series.sort(key=lambda each: -each[1])
    return share, tuple(
        Component(round(hz, 2), round(10 * float(np.log10(level / series[0][1])), 1))
        for hz, level in series
    )


def _are_sidebands(
    freq_hz: Floats, power: Floats, bin_hz: float, taken: list[tuple[int, int, int]]
) -> bool:
    """Whether a line stands between the two of a pair above, as far off as at the fundamental.

    The second sideband of partial 2 lies where a second series would; the first lies between.
    """
    apart_hz = float(freq_hz[taken[0][2]] - freq_hz[taken[0][1]]) / taken[0][0]
    for number, one, other in taken:
        if number < 2:
            continue
        least = MIRROR_LEVEL * min(power[one], power[other])
        for between_hz in (freq_hz[one] + apart_hz, freq_hz[other] - apart_hz):
            at = _find_line(freq_hz, float(between_hz), bin_hz)
            if at is not None and at not in (one, other) and power[at] > least:
                return True
    return False


def _find_line(freq_hz: Floats, wanted_hz: float, bin_hz: float) -> int | None:
    at = int(np.argmin(np.abs(freq_hz - wanted_hz)))
    reach_hz = TOLERANCE_BINS * bin_hz + wanted_hz * (2 ** (SAME_CENTS / 1200) - 1)
    return at if abs(float(freq_hz[at]) - wanted_hz) < reach_hz else None
