"""Order tracking: resample so that the pitch stands still, and read the partials there.

A pitch profile, the pitch as it is known so far, tells when each turn of the fundamental begins.
Resampled at equal shares of a turn instead of equal shares of a second, the note has one pitch,
however it moves: a Hann window of whole turns shows each partial (order) in one bin, with the other
partials on the zeros of its spectrum. What the profile missed is left over as a slow change of the
partials' phases, and the averaging of the window hardly touches that.

Source: computed order tracking in the vibration of machines, where a shaft's turns take the place
of seconds (Fyfe & Munck, "Analysis of computed order tracking", Mech. Syst. Signal Process. 11(2),
1997; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]
Complexes = NDArray[np.complexfloating[Any, Any]]

HOP_S = 0.01
SPARE = 1.02  # samples of a turn against those of the recording: none may be lost
FEWEST_WINDOWS = 8
BLOCK_SAMPLES = 50_000


@dataclass(frozen=True, slots=True)
class PitchProfile:
    """A pitch over time as far as it is known (the speed profile of order tracking).

    `times_s` (n,), seconds, rising, n at least 2; `f0_hz` (n,), Hz, above 0.
    """

    times_s: Floats
    f0_hz: Floats

    def count_turns(self) -> Floats:
        """Turns of the fundamental from the first time to each, shape (n,), from 0.

        Trapezoids, corrected by the slopes at their ends (Euler and Maclaurin).
        """
        step_s = np.diff(self.times_s)
        slope = np.gradient(self.f0_hz, self.times_s)
        area = 0.5 * step_s * (self.f0_hz[1:] + self.f0_hz[:-1])
        area += step_s**2 / 12 * (slope[:-1] - slope[1:])
        return np.concatenate(([0.0], np.cumsum(area)))


@dataclass(frozen=True, slots=True)
class OrderTrackedNote:
    """The partials of a note after order tracking, one row a window.

    `times_s` are the middles of the windows and `period_s` the periods of the profile there (both
    (m,)); `phasors` (m, k) are the amplitudes of partials 1 to k with their phases, less what the
    profile accounts for. From window to window the profile makes `turns` turns; a window holds
    twice as many.
    """

    times_s: Floats
    period_s: Floats
    turns: int
    phasors: Complexes

    @property
    def hop_s(self) -> float:
        """The usual time from one window to the next."""
        return self.turns * float(np.median(self.period_s))

    @property
    def window_s(self) -> float:
        """The usual length of a window."""
        return 2 * self.hop_s

    def drift_turns(self, reference_hz: float) -> Floats:
        """Turns by which the profile runs ahead of a reference in Hz at each window, shape (m,)."""
        made = self.turns * np.arange(len(self.times_s))
        return np.asarray(made - reference_hz * (self.times_s - self.times_s[0]))


def track_orders(
    samples: Samples,
    sample_rate_hz: float,
    profile: PitchProfile,
    span_s: tuple[float, float],
    *,
    partials: int,
) -> OrderTrackedNote | None:
    """Resample a note at equal shares of a turn, and read its partials by windows of whole turns.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`; `span_s` from and to in
    seconds, which the middles of the windows fill; `partials` is how many are read, at least 1.
    Returns None where fewer than eight windows fit into the span. Samples between the samples are
    read by Lagrange's cubic through four of them.

    >>> rate, profile = 8_000, PitchProfile(np.array([0.0, 1.0]), np.array([440.0, 440.0]))
    >>> tone = np.sin(2 * np.pi * 440.5 * np.arange(rate) / rate)
    >>> note = track_orders(tone, rate, profile, (0.2, 0.8), partials=1)
    >>> left = np.diff(np.unwrap(np.angle(note.phasors[:, 0]))) / np.diff(note.times_s)
    >>> bool(np.all(np.abs(left / (2 * np.pi) - 0.5) < 0.001))
    True
    """
    usual_hz = float(np.median(profile.f0_hz))
    turns = max(1, round(HOP_S * usual_hz))
    at_turns = profile.count_turns()
    first, last = np.interp(span_s, profile.times_s, at_turns)
    count = int((last - first) / turns) + 1
    if count < FEWEST_WINDOWS:
        return None
    # one place more on either side: a window reaches from the middle before to the middle after
    places = 0.5 * (first + last - (count + 1) * turns) + turns * np.arange(count + 2)
    times_s, period_s = _find_times(profile, at_turns, places)
    size = turns * int(np.ceil(SPARE * sample_rate_hz / usual_hz))
    rising, falling = _make_halves(size, turns, partials)
    phasors = np.zeros((count, partials), dtype=np.complex128)
    block = max(1, BLOCK_SAMPLES // size)
    for at in range(0, count + 1, block):
        hops = slice(at, min(at + block, count + 1))
        ends = slice(at, hops.stop + 1)
        bent = _read_between(
            samples,
            _fill_hops(times_s[ends], turns * period_s[ends], size) * sample_rate_hz,
        )
        release_pages(samples)
        # the first half of window m is hop m, its second half hop m + 1
        early = min(hops.stop, count) - at
        phasors[at : at + early] += bent[:early] @ rising
        late = int(at == 0)
        phasors[at + late - 1 : hops.stop - 1] += bent[late:] @ falling
    inside = slice(1, count + 1)
    return OrderTrackedNote(times_s[inside], period_s[inside], turns, phasors)


def _find_times(profile: PitchProfile, at_turns: Floats, places: Floats) -> tuple[Floats, Floats]:
    """Times at which so many turns are made, and the periods there; straight on beyond the ends.

    Between two times of the profile a cubic with the right periods at both (Hermite's).
    """
    low = np.clip(np.searchsorted(at_turns, places, side="right") - 1, 0, len(at_turns) - 2)
    width = at_turns[low + 1] - at_turns[low]
    x = np.clip((places - at_turns[low]) / width, 0.0, 1.0)
    start_s, end_s = profile.times_s[low], profile.times_s[low + 1]
    slopes = width / profile.f0_hz[low], width / profile.f0_hz[low + 1]
    times_s = np.einsum(
        "in,in->n", _shape_cubic(x), np.stack((start_s, slopes[0], end_s, slopes[1]))
    )
    rise = 6 * x * (1 - x) * (end_s - start_s)
    rise += (1 - x) * (1 - 3 * x) * slopes[0] + x * (3 * x - 2) * slopes[1]
    period_s = rise / width
    beyond = places - np.clip(places, at_turns[0], at_turns[-1])
    return times_s + beyond * period_s, period_s


def _shape_cubic(x: Floats) -> Floats:
    """Hermite's four cubics at x from 0 to 1: start, slope there, end, slope there."""
    return np.stack(
        ((1 + 2 * x) * (1 - x) ** 2, x * (1 - x) ** 2, x**2 * (3 - 2 * x), x**2 * (x - 1))
    )


def _fill_hops(times_s: Floats, slopes_s: Floats, size: int) -> Floats:
    """`size` times in each hop from one time to the next, by Hermite's cubic; one hop a row."""
    ends = np.stack((times_s[:-1], slopes_s[:-1], times_s[1:], slopes_s[1:]), axis=1)
    return np.asarray(ends @ _shape_cubic(np.arange(size) / size))


def _make_halves(size: int, turns: int, partials: int) -> tuple[Complexes, Complexes]:
    """What a hop of `size` samples is multiplied by in the first and the second half of a window.

    Scaled so that a partial of amplitude a shows as a.
    """
    window = np.hanning(2 * size + 1)[:-1] * 2 / size
    angles = 2 * np.pi * turns / size * np.outer(np.arange(size), np.arange(1, partials + 1))
    waves = np.exp(-1j * angles)
    return (
        (window[:size, np.newaxis] * waves).astype(np.complex64),
        (window[size:, np.newaxis] * waves).astype(np.complex64),
    )


def _read_between(samples: Samples, at: Floats) -> Floats:
    """Samples at places between samples, by Lagrange's cubic through four neighbours.

    The coefficients of its powers are made for each pair of samples first, as there are fewer of
    them than weights (Farrow, ISCAS 1988; from memory). Before the first and after the last samples
    stand still.
    """
    low = np.floor(at).astype(np.intp)
    x = (at - low).astype(np.float32)
    low = np.clip(low, 1, len(samples) - 3)
    first = int(low.min()) - 1
    near = np.asarray(samples[first : int(low.max()) + 3], dtype=np.float32)
    before, start, end, after = (near[shift : len(near) - 3 + shift] for shift in range(4))
    cubic = (after - before) / 6 + (start - end) / 2
    square = (before + end) / 2 - start
    slope = end - start - square - cubic
    low -= first + 1
    read = cubic[low]
    for coefficient in (square, slope, start):
        read *= x
        read += coefficient[low]
    return np.asarray(read)
