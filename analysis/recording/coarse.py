"""Coarse pitch: which note is it, to about 10 cents, without octave or twelfth slips.

Each spectrum (0.19 s, half overlapping) is reduced to its lines: peaks well above the noise floor
and within 35 dB of the strongest. Candidates are the strongest lines divided by 1, 2, ... 12. The
pitch is the *highest* candidate whose multiples explain nearly all lines: an octave or twelfth too
high leaves lines over, and one too low explains no more than the true one. Lines count by the
fourth root of their power, so that a fundamental 25 dB under its second partial still counts, and
a missing one is not missed. The idea of judging a candidate by how predicted and measured partials
match is that of the two-way mismatch procedure: Maher & Beauchamp, "Fundamental frequency
estimation of musical signals using a two-way mismatch procedure", JASA 95(4), 1994 (from memory).

Limits: 48 to 2600 Hz; lines above 6 kHz are not looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]

FRAME_S = 0.186
MIN_F0_HZ = 48.0
MAX_F0_HZ = 2600.0
BAND_HZ = (40.0, 6000.0)  # where lines are looked for
KEPT_HZ = 8000.0
LINE_OVER_FLOOR = 20.0  # in power; white noise exceeds it once in e^20 bins
LINE_UNDER_STRONGEST = 10**-3.5
MAX_LINES = 24
STRONG_LINES = 3
MAX_DIVISOR = 12
EXPLAINED_SHARE = 0.85
MAINS_HZ = (50.0, 60.0)
HUM_ORDERS = 6
HUM_REACH_HZ = 1.0
SUSPECT_ORDERS = 10
SAME_SHARE = 0.01
LEAST_OTHERS = 3  # lines besides the suspects that can tell a pitch
CLEAR_BINS = 2.0
SMEAR = 0.024  # 40 cents: a wide vibrato smears a line over this share of its frequency
BLOCK_FRAMES = 64
ENOUGH_BINS = 40  # for a median; neighbours tell much the same


@dataclass(frozen=True, slots=True)
class CoarseFrames:
    """Power spectra (one row a frame), where the middles of the frames lie, and of what samples."""

    centres_s: Floats
    power: Floats
    size: int
    bin_hz: float
    samples: Samples

    @property
    def sample_rate_hz(self) -> float:
        """Of the samples."""
        return self.size * self.bin_hz


@dataclass(frozen=True, slots=True)
class CoarsePitch:
    """A pitch, and the share (0 to 1) of all power that lies in its partials."""

    f0_hz: float
    clarity: float


def make_coarse_frames(samples: Samples, sample_rate_hz: float) -> CoarseFrames:
    """Hann power spectra up to 8 kHz, in blocks so that memory follows only what is kept."""
    from scipy import fft

    size = min(len(samples), fft.next_fast_len(int(FRAME_S * sample_rate_hz), real=True))
    hop = max(1, size // 2)
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    bin_hz = sample_rate_hz / size
    kept = int(min(KEPT_HZ, 0.45 * sample_rate_hz) / bin_hz) + 1
    starts = np.arange(0, len(samples) - size + 1, hop)
    frames = np.lib.stride_tricks.sliding_window_view(samples, size)
    power = np.empty((len(starts), kept), dtype=np.float32)
    for at in range(0, len(starts), BLOCK_FRAMES):
        block = frames[starts[at : at + BLOCK_FRAMES]].astype(np.float32) * window
        bins = fft.rfft(block, axis=1)[:, :kept]
        power[at : at + BLOCK_FRAMES] = bins.real**2 + bins.imag**2
        release_pages(samples)
    centres_s = (starts + size / 2) / sample_rate_hz
    return CoarseFrames(centres_s, power, size, bin_hz, samples)


def estimate_floor(power: Floats, bin_hz: float) -> Floats:
    """Mean noise power at each bin, from medians over bands of a quarter of their frequency.

    White noise has exponentially distributed power, whose mean is its median / ln 2. Bands are at
    least 130 Hz wide, so that the lines of a low note don't fill half of one.
    """
    edges = [0]
    while edges[-1] < power.shape[-1]:
        edges.append(edges[-1] + max(4, int(max(130.0, 0.25 * edges[-1] * bin_hz) / bin_hz)))
    edges[-1] = power.shape[-1]
    if len(edges) > 2 and edges[-1] - edges[-2] < 4:
        del edges[-2]
    floor = np.empty_like(power)
    for low, high in pairwise(edges):
        every = max(1, (high - low) // ENOUGH_BINS)
        median = np.median(power[..., low:high:every], axis=-1, keepdims=True)
        floor[..., low:high] = median / np.log(2)
    return floor


def find_pitches(frames: CoarseFrames) -> tuple[CoarsePitch | None, ...]:
    """The pitch of each frame, None where no line stands out."""
    kept = int(BAND_HZ[1] / frames.bin_hz) + 1
    pitches: list[CoarsePitch | None] = []
    for at in range(0, len(frames.power), BLOCK_FRAMES):
        block = frames.power[at : at + BLOCK_FRAMES]
        for power, floor in zip(block, estimate_floor(block, frames.bin_hz), strict=True):
            pitches.append(find_pitch(power[:kept], floor[:kept], frames.bin_hz))
    return tuple(pitches)


def find_pitch(power: Floats, floor: Floats, bin_hz: float) -> CoarsePitch | None:
    """The pitch of one power spectrum (bins of `bin_hz` from 0 Hz)."""
    lines_hz, line_power = drop_hum(*find_lines(power, floor, bin_hz))
    f0_hz, _ = _find_f0(lines_hz, line_power, bin_hz)
    if f0_hz is None:
        return None
    is_other = ~is_near_mains(lines_hz)
    if LEAST_OTHERS <= np.count_nonzero(is_other) < len(is_other):
        # hum at a half or a third of a note's pitch would make it an octave or a twelfth too low
        without_hz, share = _find_f0(lines_hz[is_other], line_power[is_other], bin_hz)
        if without_hz is not None and share >= EXPLAINED_SHARE:
            times = without_hz / f0_hz
            if round(times) in (2, 3) and abs(times / round(times) - 1) < SAME_SHARE:
                f0_hz = without_hz
    return CoarsePitch(f0_hz, _find_clarity(f0_hz, power, bin_hz))


def _find_f0(lines_hz: Floats, line_power: Floats, bin_hz: float) -> tuple[float | None, float]:
    """The highest candidate that explains the lines nearly as well as any, and how much it does."""
    if not lines_hz.size:
        return None, 0.0
    strongest_hz = lines_hz[np.argsort(line_power)[::-1][:STRONG_LINES]]
    candidates_hz = (strongest_hz[:, None] / np.arange(1, MAX_DIVISOR + 1)).ravel()
    within = (candidates_hz >= MIN_F0_HZ) & (candidates_hz <= MAX_F0_HZ)
    candidates_hz = candidates_hz[within]
    if not candidates_hz.size:
        return None, 0.0
    weight = line_power**0.25
    fitted_hz, explained = _fit_candidates(candidates_hz, lines_hz, weight, bin_hz)
    is_enough = explained >= EXPLAINED_SHARE * explained.max()
    highest = int(np.argmax(np.where(is_enough, fitted_hz, 0.0)))
    return float(fitted_hz[highest]), float(explained[highest])


def find_lines(power: Floats, floor: Floats, bin_hz: float) -> tuple[Floats, Floats]:
    """Frequencies (log-parabola) and powers of the strongest lines."""
    middle = power[1:-1]
    bottom = np.maximum(LINE_OVER_FLOOR * floor[1:-1], LINE_UNDER_STRONGEST * power.max())
    is_line = (middle > power[:-2]) & (middle >= power[2:]) & (middle > bottom)
    is_line[: int(BAND_HZ[0] / bin_hz)] = False
    at = np.flatnonzero(is_line) + 1
    at = at[np.argsort(power[at])[::-1][:MAX_LINES]]
    tiny = np.finfo(np.float32).tiny
    left, top, right = (np.log(power[at + step] + tiny) for step in (-1, 0, 1))
    shift = 0.5 * (left - right) / (left - 2 * top + right)
    return (at + shift) * bin_hz, power[at]


def is_near_mains(lines_hz: Floats) -> NDArray[np.bool_]:
    """Which lines lie within 1 Hz of one of the first multiples of the mains.

    >>> is_near_mains(np.array([49.5, 58.3, 119.4, 1000.0])).tolist()
    [True, False, True, False]
    """
    is_near = np.zeros(len(lines_hz), dtype=bool)
    for mains_hz in MAINS_HZ:
        order = np.round(lines_hz / mains_hz)
        is_low = (order > 0) & (order <= SUSPECT_ORDERS)
        is_near |= is_low & (np.abs(lines_hz - order * mains_hz) < HUM_REACH_HZ)
    return is_near


def drop_hum(lines_hz: Floats, line_power: Floats) -> tuple[Floats, Floats]:
    """Without a series of low multiples of the mains that is 6 dB under the strongest line.

    A low note that happens to lie on such a series keeps its higher partials, which tell its pitch.
    """
    if not lines_hz.size:
        return lines_hz, line_power
    is_kept = np.ones(len(lines_hz), dtype=bool)
    for mains_hz in MAINS_HZ:
        order = np.round(lines_hz / mains_hz)
        is_near = (order > 0) & (np.abs(lines_hz - order * mains_hz) < HUM_REACH_HZ)
        is_low = is_near & (order <= HUM_ORDERS)
        if is_low[np.argmax(line_power)]:  # the note itself may be the series
            continue
        is_hum = is_low & (line_power < 0.25 * line_power.max())
        if np.count_nonzero(is_hum & (order <= HUM_ORDERS - 2)) >= 2:
            is_kept &= ~is_hum
    return lines_hz[is_kept], line_power[is_kept]


def _fit_candidates(
    candidates_hz: Floats, lines_hz: Floats, weight: Floats, bin_hz: float
) -> tuple[Floats, Floats]:
    """Each candidate fitted to the lines near its multiples, and the share of lines explained."""
    f0_hz = candidates_hz[:, None]
    share = np.zeros(len(candidates_hz))
    for _ in range(3):
        number = np.maximum(np.round(lines_hz / f0_hz), 1)
        tolerance = np.minimum(1.0 * bin_hz + 0.006 * lines_hz, 0.15 * f0_hz)
        off_hz = np.abs(lines_hz - number * f0_hz)
        matched = weight * (off_hz < tolerance)
        share = matched.sum(axis=1) / weight.sum()
        counted = matched * number
        normal = np.einsum("ij,ij->i", counted, number)
        fitted = counted @ lines_hz / np.maximum(normal, 1e-30)
        f0_hz = np.where(normal > 0, fitted, f0_hz[:, 0])[:, None]
    return f0_hz[:, 0], share


def _find_clarity(f0_hz: float, power: Floats, bin_hz: float) -> float:
    """Share of the power near multiples of f0: within two bins, or as far as vibrato smears them.

    Never more than a tenth of f0, so that most of what is no tone lies outside.
    """
    bins = np.arange(int(BAND_HZ[0] / bin_hz), len(power))
    number = np.maximum(np.round(bins * bin_hz / f0_hz), 1)
    off_hz = np.abs(bins * bin_hz - number * f0_hz)
    reach_hz = np.maximum((CLEAR_BINS + 0.5) * bin_hz, np.minimum(SMEAR * number, 0.1) * f0_hz)
    return float(power[bins][off_hz < reach_hz].sum() / power[bins].sum())
