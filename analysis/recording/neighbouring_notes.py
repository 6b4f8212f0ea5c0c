"""Two notes close together by recurring line pairs: a second series beside every partial.

Two players a semitone apart sound as two series whose partials lie beside each other at the same
ratio: 1.06 at the fundamental, 1.06 at its twelfth. Vibrato and flutter put lines beside partials
as well, but at the same distance in Hz, and on both sides. So a pair of lines is taken for two
fundamentals when the pair comes again at multiples of them with nothing between, holds most of the
power, and has no mirror image.

The spectrum is the mean over windows of 0.5 s (Hann), whose lines are told apart from 8 Hz on.

Limits: 25 to 150 cents, from 8 Hz on; both fundamentals must be heard, and one more partial of
each, and hum must not be the softer; the softer line of a pair within 25 dB of the stronger;
pitches that hold still for 0.5 s.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import MAX_F0_HZ, MIN_F0_HZ
from analysis.recording.measurement import Component
from analysis.recording.samples import Samples, release_pages
from analysis.recording.spectral_lines import estimate_floor, find_lines, is_near_mains

Floats = NDArray[np.floating[Any]]

WINDOW_S = 0.5
LEAST_S = 0.25
MOST_WINDOWS = 6
TOP_HZ = 6_000.0
APART_CENTS = (25.0, 150.0)
SAME_CENTS = 5.0
TOLERANCE_BINS = 0.5
LEAST_LEVEL = 10**-2.5
MIRROR_LEVEL, STRICT_MIRROR_LEVEL = 0.1, 0.03
LEAST_PAIRS = 2
ONCE_LEVEL, ONCE_CENTS = 10**-1.2, 70.0
HUM_LEVEL, HUM_TOP_HZ = 10**-0.8, 360.0
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
    spectrum = _find_spectrum(samples, sample_rate_hz)
    if spectrum is None:
        return ()
    lines_hz = spectrum.lines_hz
    cents = 1200 * np.log2(lines_hz / lines_hz[:, np.newaxis])
    is_pair = (cents >= APART_CENTS[0]) & (cents <= APART_CENTS[1])
    is_pair &= ((lines_hz >= MIN_F0_HZ) & (lines_hz <= MAX_F0_HZ))[:, np.newaxis]
    fitted = [_fit_pair(spectrum, (int(low), int(high))) for low, high in np.argwhere(is_pair)]
    return max(fitted, default=(0.0, ()))[1]


@dataclass(frozen=True, slots=True)
class _Spectrum:
    """Power (bins,) at multiples of `bin_hz`, and the lines in it: places in Hz, powers (k,)."""

    power: Floats
    bin_hz: float
    lines_hz: Floats
    lines_power: Floats

    def find_line(self, wanted_hz: float) -> int | None:
        """The number of the line at a place, if there is one."""
        at = int(np.argmin(np.abs(self.lines_hz - wanted_hz)))
        reach_hz = TOLERANCE_BINS * self.bin_hz + wanted_hz * (2 ** (SAME_CENTS / 1200) - 1)
        return at if abs(float(self.lines_hz[at]) - wanted_hz) < reach_hz else None

    def read_around(self, wanted_hz: float) -> float:
        """The most power within two bins of a place."""
        at = round(wanted_hz / self.bin_hz)
        return float(self.power[max(0, at - 2) : at + 3].max(initial=0.0))


def _find_spectrum(samples: Samples, rate_hz: float) -> _Spectrum | None:
    """The mean spectrum with its lines, None where there are not two."""
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
    lines = find_lines(power, estimate_floor(power, bin_hz), bin_hz)
    if np.count_nonzero(lines.exist) < 2:
        return None
    return _Spectrum(power[0], bin_hz, lines.freq_hz[lines.exist], lines.power[lines.exist])


def _fit_pair(spectrum: _Spectrum, pair: tuple[int, int]) -> tuple[float, tuple[Component, ...]]:
    """The share of the power that two series on a pair of lines hold together, and the series."""
    nothing = (0.0, ())
    lines_hz, power = spectrum.lines_hz, spectrum.lines_power
    taken = [
        (number, one, other)
        for number in range(1, MOST_PARTIALS + 1)
        if (one := spectrum.find_line(number * float(lines_hz[pair[0]]))) is not None
        and (other := spectrum.find_line(number * float(lines_hz[pair[1]]))) is not None
        and one != other
        and _are_comparable(spectrum, one, other)
    ]
    is_once = len(taken) < LEAST_PAIRS
    if not taken or (is_once and not _may_stand_once(spectrum, taken[0])):
        return nothing
    if any(_has_sidebands(spectrum, *each, is_strict=is_once) for each in taken):
        return nothing
    share = sum(float(power[one] + power[other]) for _, one, other in taken) / float(power.sum())
    if share < LEAST_POWER:
        return nothing
    series = [
        (
            float(np.mean([lines_hz[each[side]] / each[0] for each in taken])),
            float(sum(power[each[side]] for each in taken)),
        )
        for side in (1, 2)
    ]
    series.sort(key=lambda each: -each[1])
    return share, tuple(
        Component(round(hz, 2), round(10 * float(np.log10(level / series[0][1])), 1))
        for hz, level in series
    )


def _are_comparable(spectrum: _Spectrum, one: int, other: int) -> bool:
    """Whether the softer of two lines is loud enough for a note, and no hum."""
    softer, stronger = sorted((one, other), key=lambda at: float(spectrum.lines_power[at]))
    ratio = float(spectrum.lines_power[softer] / spectrum.lines_power[stronger])
    softer_hz = spectrum.lines_hz[softer : softer + 1]
    is_hum = ratio < HUM_LEVEL and softer_hz[0] < HUM_TOP_HZ and bool(is_near_mains(softer_hz)[0])
    return ratio >= LEAST_LEVEL and not is_hum


def _may_stand_once(spectrum: _Spectrum, pair: tuple[int, int, int]) -> bool:
    """Whether one pair of lines alone is enough: two high notes that have little above them."""
    number, one, other = pair
    levels = sorted(float(spectrum.lines_power[at]) for at in (one, other))
    cents = 1200 * np.log2(spectrum.lines_hz[other] / spectrum.lines_hz[one])
    return number == 1 and levels[0] >= ONCE_LEVEL * levels[1] and cents >= ONCE_CENTS


def _has_sidebands(
    spectrum: _Spectrum, number: int, one: int, other: int, *, is_strict: bool
) -> bool:
    """Whether lines stand about a pair that modulation would put there, and no second series.

    They lie on the other side of either line; and, since the second sideband of partial 2 lies
    where a second series would, between the two of a pair above.
    """
    low_hz, high_hz = float(spectrum.lines_hz[one]), float(spectrum.lines_hz[other])
    apart_hz = (high_hz - low_hz) / number
    level = STRICT_MIRROR_LEVEL if is_strict else MIRROR_LEVEL
    least = level * float(min(spectrum.lines_power[one], spectrum.lines_power[other]))
    places_hz = [low_hz - apart_hz, high_hz + apart_hz] if number == 1 else []
    if number in (2, 3):
        places_hz = [low_hz + apart_hz, high_hz - apart_hz]
    return any(spectrum.read_around(each) > least for each in places_hz)
