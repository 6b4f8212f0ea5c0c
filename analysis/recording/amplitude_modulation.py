"""Amplitude modulation by the spectrum of the envelope: flutter-tonguing.

The envelope is the RMS of 0.5 ms, smoothed over 12 ms (Hann; the pulses of a low note would else be
aliased) and read every 2 ms, over its own mean of 0.2 s, so that swells and decays fall out.
Fluttering cuts the tone 18 to 30 times a second (common practice, from memory): the envelope then
swings by a quarter and more, most of it within a fifth of one rate.

Two notes a semitone apart beat at such rates as well. But a beat adds one line beside each partial,
at the other note, while a modulated tone has sidebands on both sides of each. So beside one of the
three strongest lines, at the rate above and below, there must be sidebands that lie within 15 dB of
each other and not too far under the line.

Limits: 0.4 s of sound and more; a tremor of 15 to 34 Hz.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]

STEP_S = 0.002
PARTS = 4  # of a step
SMOOTH_PARTS = 24
TREND_S = 0.2
LOUD_SHARE = 0.1
LEAST_S = 0.4
RATES_HZ = (15.0, 34.0)
OTHER_RATES_HZ = (4.0, 60.0)
LEAST_SWING = 0.18  # standard deviation of the envelope over its mean
PEAK_WIDTH = 0.2
LEAST_CONCENTRATED = 0.55
MOST_S = 6.0  # is enough to tell
SPECTRUM_S = 0.4
MOST_FRAMES = 12
LINE_HZ = (60.0, 4000.0)
MOST_UNEVEN = 10**1.5
LEAST_SIDEBAND = 10**-3.6  # of the line's power, the weaker one
LINES = 3


def find_flutter_rate(samples: Samples, sample_rate_hz: float) -> float | None:
    """How often a second the sound is cut as by flutter-tonguing, or None.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`.

    >>> time_s = np.arange(16_000) / 8_000
    >>> tone = np.sin(2 * np.pi * 440.0 * time_s)
    >>> fluttered = tone * (1 + 0.6 * np.sin(2 * np.pi * 24.0 * time_s))
    >>> find_flutter_rate(tone, 8_000), round(find_flutter_rate(fluttered, 8_000))
    (None, 24)
    """
    size = PARTS * max(1, round(STEP_S / PARTS * sample_rate_hz))
    step_s = size / sample_rate_hz
    envelope = _find_envelope(samples, size)
    first, last = _find_loud(envelope)
    if (last - first) * step_s < LEAST_S:
        return None
    rate_hz = _find_rate(envelope[first:last], step_s)
    if rate_hz is None:
        return None
    is_even = _has_both_sidebands(samples[first * size : last * size], sample_rate_hz, rate_hz)
    return round(rate_hz, 1) if is_even else None


def _find_envelope(samples: Samples, size: int) -> Floats:
    rows = samples[: len(samples) // size * size].reshape(-1, size // PARTS)
    power = np.einsum("ij,ij->i", rows, rows).astype(np.float64)
    release_pages(samples)
    window = np.hanning(SMOOTH_PARTS + 2)[1:-1]
    return np.sqrt(np.convolve(power, window / window.sum(), mode="same")[::PARTS])


def _find_loud(envelope: Floats) -> tuple[int, int]:
    """From where to where it is loud, at most a few seconds about the middle of that."""
    trend = _average(envelope, TREND_S)
    if not trend.size:
        return 0, 0
    loud = np.flatnonzero(trend > LOUD_SHARE * np.quantile(trend, 0.95))
    if not len(loud):
        return 0, 0
    first, last = int(loud[0]), int(loud[-1]) + 1
    spare = max(0, last - first - round(MOST_S / STEP_S)) // 2
    return first + spare, last - spare


def _average(values: Floats, seconds: float) -> Floats:
    size = min(len(values), round(seconds / STEP_S) | 1)
    padded = np.pad(values, size // 2, mode="edge")
    total = np.concatenate(([0.0], np.cumsum(padded)))
    return np.asarray((total[size:] - total[:-size]) / size)


def _find_rate(envelope: Floats, step_s: float) -> float | None:
    """The rate at which an envelope swings most, if it does so clearly."""
    swing = envelope / np.maximum(_average(envelope, TREND_S), 1e-12) - 1
    power = np.abs(np.fft.rfft(swing * np.hanning(len(swing)), 2 * len(swing))) ** 2
    rates = np.fft.rfftfreq(2 * len(swing), step_s)
    smooth = np.convolve(power, np.ones(5) / 5, mode="same")
    within = np.flatnonzero((rates >= RATES_HZ[0]) & (rates <= RATES_HZ[1]))
    peak_hz = float(rates[within[np.argmax(smooth[within])]])
    near = np.abs(rates - peak_hz) <= PEAK_WIDTH * peak_hz
    others = (rates >= OTHER_RATES_HZ[0]) & (rates <= OTHER_RATES_HZ[1])
    # what is at twice the rate is the shape of the cut
    others &= np.abs(rates - 2 * peak_hz) > PEAK_WIDTH * peak_hz
    share = float(power[near].sum() / power[1:].sum())
    if np.std(swing) * np.sqrt(share) < LEAST_SWING:
        return None
    if power[near].sum() < LEAST_CONCENTRATED * power[near | others].sum():
        return None
    return float(rates[near] @ power[near] / power[near].sum())


def _has_both_sidebands(samples: Samples, rate_hz: float, modulation_hz: float) -> bool:
    """Whether one of the strongest lines has about as much beside it above as below."""
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    size = min(len(samples), fft.next_fast_len(int(SPECTRUM_S * rate_hz), real=True))
    starts = np.linspace(0, len(samples) - size, min(MOST_FRAMES, 2 * len(samples) // size))
    view = np.lib.stride_tricks.sliding_window_view(samples, size)
    rows = view[starts.astype(np.intp)].astype(np.float32)
    bins = fft.rfft(rows * np.hanning(size + 1)[:-1].astype(np.float32), axis=1)
    power = (bins.real**2 + bins.imag**2).sum(axis=0)
    bin_hz = rate_hz / size
    low, high = int(LINE_HZ[0] / bin_hz), min(len(power), int(LINE_HZ[1] / bin_hz))
    inner, outer = (max(3, round(share * modulation_hz / bin_hz)) for share in (0.65, 1.35))
    left = power[:high].copy()
    left[:low] = 0.0
    for _ in range(LINES):
        line = int(np.argmax(left))
        above = float(power[line + inner : line + outer + 1].max(initial=0.0))
        below = float(power[max(0, line - outer) : max(1, line - inner + 1)].max())
        least = max(max(above, below) / MOST_UNEVEN, LEAST_SIDEBAND * float(power[line]))
        if min(above, below) > least:
            return True
        left[max(0, line - 2 * outer) : line + 2 * outer + 1] = 0.0
    return False
