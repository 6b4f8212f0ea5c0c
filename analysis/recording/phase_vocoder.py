"""Phase vocoder: the frequency of each partial by its phase advance from hop to hop.

A Hann window of whole periods (at least five, at least 45 ms; to 0.4%, for a quick transform) steps
on by 10 ms, by a sixth of its length if that is more. In the bin nearest to k f0 the phase of
partial k advances by 2 pi k f0 hop, whatever the bin's own frequency: the instantaneous frequency
of the phase vocoder (Flanagan & Golden, Bell Syst. Tech. J. 45, 1966; Charpentier, ICASSP 1986;
both from memory). Windows of whole periods put the other partials near the zeros of the window's
spectrum, so that a weak partial beside a strong one is not pulled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.held_notes import HeldNote
from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]
Complexes = NDArray[np.complexfloating[Any, Any]]

HOP_S = 0.01
MIN_WINDOW_S = 0.045
MIN_PERIODS = 5
WORST_MISFIT = 0.004
MOST_OVERLAP = 6  # windows that share a sample; more would tell a low note nothing new
MOST_PARTIALS = 24
TOP_HZ = 8_000.0
BLOCK_PAIRS = 256


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the windows lie: `size` and `hop` in samples, the first centre at `first_s`."""

    size: int
    hop: int
    periods: int
    first_sample: int
    count: int
    sample_rate_hz: float

    @property
    def hop_s(self) -> float:
        """Time from window to window."""
        return self.hop / self.sample_rate_hz

    @property
    def window_s(self) -> float:
        """Length of the window."""
        return self.size / self.sample_rate_hz

    @property
    def centres_s(self) -> Floats:
        """The middles of the windows in seconds, shape (count,)."""
        first_s = (self.first_sample + self.size / 2) / self.sample_rate_hz
        return first_s + np.arange(self.count) * self.hop_s


@dataclass(frozen=True, slots=True)
class HarmonicTrack:
    """Phase advances of partials, one row per pair of neighbouring windows, one column per partial.

    `predicted_hz` (m,) is the pitch that advances are turned back by; the others have shape (m, k).
    `advance` is X[m+1] conj(X[m]) turned back by the predicted advance; `power` and `noise` are
    per-bin powers at the partials and half-way between them.
    """

    grid: Grid
    predicted_hz: Floats
    advance: Complexes
    power: Floats
    noise: Floats

    @property
    def times_s(self) -> Floats:
        """The middles of the pairs in seconds, shape (m,)."""
        return self.grid.centres_s[:-1] + self.grid.hop_s / 2


def lay_grid(held_note: HeldNote, sample_count: int, sample_rate_hz: float) -> Grid | None:
    """Lay windows over a held note; None if not even four fit."""
    size, periods = _choose_window(held_note.median_hz, sample_rate_hz)
    hop = max(round(HOP_S * sample_rate_hz), size // MOST_OVERLAP)
    first = max(0, round(held_note.from_s * sample_rate_hz) - size // 2)
    last = min(sample_count, round(held_note.to_s * sample_rate_hz) + size // 2)
    count = (last - first - size) // hop + 1
    if count < 4:
        return None
    return Grid(size, hop, periods, first, count, sample_rate_hz)


def _choose_window(f0_hz: float, sample_rate_hz: float) -> tuple[int, int]:
    """Whole periods, as few as allowed, preferring lengths with a fast transform."""
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    period = sample_rate_hz / f0_hz
    fewest = max(MIN_PERIODS, int(np.ceil(MIN_WINDOW_S / (period / sample_rate_hz))))
    best = (np.inf, 0, 0)
    for periods in range(fewest, fewest + max(1, fewest // 5) + 1):
        exact = periods * period
        fast = min(
            (fft.next_fast_len(round(exact) + shift) for shift in range(-8, 1)),
            key=lambda size: abs(size - exact),
        )
        misfit = round(abs(fast - exact) / exact, 6)  # rounded: the shorter of two that fit alike
        best = min(best, (misfit, fast, periods))
    if best[0] > WORST_MISFIT:
        return round(fewest * period), fewest
    return best[1], best[2]


def track_harmonics(samples: Samples, held_note: HeldNote, grid: Grid) -> HarmonicTrack:
    """Track phase advance, power and noise of all partials over a held note.

    `samples` of shape (n,), full scale -1 to 1. Done in blocks of bounded size.
    """
    rate = grid.sample_rate_hz
    coarse_hz = np.interp(grid.centres_s[:-1] + grid.hop_s / 2, held_note.times_s, held_note.f0_hz)
    top_hz = min(TOP_HZ, 0.45 * rate)
    partials = min(MOST_PARTIALS, max(1, int(top_hz / (1.03 * coarse_hz.max()))))
    window = np.hanning(grid.size + 1)[:-1].astype(np.float32)
    view = np.lib.stride_tricks.sliding_window_view(samples, grid.size)
    rows = view[grid.first_sample :: grid.hop][: grid.count]
    pairs = grid.count - 1
    predicted_hz = np.empty(pairs)
    advance = np.empty((pairs, partials), dtype=np.complex128)
    power = np.empty((pairs, partials), dtype=np.float32)
    noise = np.empty((pairs, partials), dtype=np.float32)
    for at in range(0, pairs, BLOCK_PAIRS):
        block = slice(at, at + BLOCK_PAIRS)
        predicted_hz[block], advance[block], power[block], noise[block] = _track_block(
            rows[at : at + BLOCK_PAIRS + 1], window, coarse_hz[block], grid, partials
        )
        release_pages(samples)
    return HarmonicTrack(grid, predicted_hz, advance, power, noise)


def _track_block(
    rows: Samples, window: Floats, coarse_hz: Floats, grid: Grid, partials: int
) -> tuple[Floats, Complexes, Floats, Floats]:
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    bins = fft.rfft(np.multiply(rows, window, dtype=np.float32), axis=1)
    bin_power = bins.real**2 + bins.imag**2
    low = _count_low_partials(bin_power, coarse_hz, grid, partials)
    advance = _read_advance(bins, coarse_hz, low, grid)
    predicted_hz = coarse_hz + _combine_roughly(advance, grid)
    advance = _read_advance(bins, predicted_hz, partials, grid)
    numbers = np.arange(1, partials + 1)
    power = _read_power(bin_power, predicted_hz, numbers, grid)
    noise = _read_between(bin_power, predicted_hz, numbers, grid)
    return predicted_hz, advance, power, noise


def _count_low_partials(power: Floats, coarse_hz: Floats, grid: Grid, partials: int) -> int:
    """Partials whose advance can't be a whole turn off when the coarse pitch is 15 cents off."""
    safe = int(0.25 / (0.0087 * float(np.median(coarse_hz)) * grid.hop_s))
    first_numbers = np.arange(1, min(partials, 8) + 1)
    levels = _read_power(power, coarse_hz, first_numbers, grid).mean(axis=0)
    return min(partials, max(safe, int(np.argmax(levels)) + 1))


def _find_bins(f0_hz: Floats, numbers: NDArray[Any], grid: Grid) -> NDArray[np.intp]:
    at = np.round(f0_hz[:, None] * (numbers * grid.window_s)).astype(np.intp)
    return np.minimum(at, grid.size // 2 - 1)


def _read_advance(bins: Complexes, f0_hz: Floats, count: int, grid: Grid) -> Complexes:
    """X[m+1] conj(X[m]) at partials 1 to count, turned back by the predicted advance.

    X is read between two bins (linearly, about the window's middle, where the phase of a Hann
    window's main lobe is flat): a whole bin off centre, a sliding pitch would tilt its phase.
    """
    exact = f0_hz[:, None] * (np.arange(1, count + 1) * grid.window_s)
    low = np.minimum(np.floor(exact).astype(np.intp), grid.size // 2 - 1)
    share = (exact - low).astype(np.float32)
    row = np.arange(len(f0_hz))[:, None]
    # (-1)^bin moves the time origin to the middle of the window: neighbours differ in sign
    before, after = (
        (1 - share) * bins[row + step, low] - share * bins[row + step, low + 1] for step in (0, 1)
    )
    turn = np.exp(-2j * np.pi * grid.hop_s * f0_hz)
    expected = np.cumprod(np.broadcast_to(turn[:, None], exact.shape), axis=1)
    return np.asarray(after * np.conj(before) * expected)


def _read_power(power: Floats, f0_hz: Floats, numbers: NDArray[Any], grid: Grid) -> Floats:
    at = _find_bins(f0_hz, numbers, grid)
    row = np.arange(len(f0_hz))[:, None]
    return np.asarray(0.5 * (power[row, at] + power[row + 1, at]))


def _read_between(power: Floats, f0_hz: Floats, numbers: NDArray[Any], grid: Grid) -> Floats:
    """Noise power per bin half-way above each partial (mean of the two middle bins).

    Five periods put the partials five bins apart, so only these two lie outside the main lobes of
    a Hann window.
    """
    middle = f0_hz[:, None] * ((numbers + 0.5) * grid.window_s)
    at = np.minimum(np.floor(middle).astype(np.intp), grid.size // 2 - 1)
    row = np.arange(len(f0_hz))[:, None]
    return np.asarray(0.5 * (power[row, at] + power[row, at + 1]))


def _combine_roughly(advance: Complexes, grid: Grid) -> Floats:
    """Deviation from the predicted f0, smoothed over five hops; partials weigh by k^2 power."""
    numbers = np.arange(1, advance.shape[1] + 1)
    deviation_hz = np.angle(advance) / (2 * np.pi * grid.hop_s * numbers)
    weight = np.abs(advance) * numbers**2
    joined = (weight * deviation_hz).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30)
    padded = np.pad(joined, 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1))
