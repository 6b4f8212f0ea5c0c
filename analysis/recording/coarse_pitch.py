"""Fundamental frequency by harmonic matching: which note is it, to about 10 cents.

Each spectrum (0.19 s, half overlapping) is reduced to its spectral lines (`spectral_lines`).
Candidates are the strongest lines divided by 1, 2, ... 12. The pitch is the *highest* candidate
whose multiples explain nearly all lines, so that there are no octave or twelfth slips: an octave or
twelfth too high leaves lines over, and one too low explains no more than the true one. Lines count
by the fourth root of their power, so that a fundamental 25 dB under its second partial still
counts, and a missing one is not missed.

Source: judging a candidate by how predicted and measured partials match is the idea of the two-way
mismatch procedure (Maher & Beauchamp, "Fundamental frequency estimation of musical signals using a
two-way mismatch procedure", JASA 95(4), 1994; from memory).

Limits: 48 to 2600 Hz; lines above 6 kHz are not looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples, release_pages
from analysis.recording.spectral_lines import (
    LOWEST_HZ,
    TINY,
    Lines,
    drop_hum,
    estimate_floor,
    find_lines,
    is_near_mains,
)

Floats = NDArray[np.floating[Any]]

FRAME_S = 0.186
MIN_F0_HZ = 48.0
MAX_F0_HZ = 2600.0
TOP_HZ = 6_000.0
KEPT_HZ = 8_000.0
STRONG_LINES = 3
MAX_DIVISOR = 12
EXPLAINED_SHARE = 0.85
SAME_SHARE = 0.01
LEAST_OTHERS = 3  # lines besides the suspects that can tell a pitch
CLEAR_BINS = 2.0
SMEAR = 0.024  # 40 cents: a wide vibrato smears a line over this share of its frequency
BLOCK_FRAMES = 64


@dataclass(frozen=True, slots=True)
class CoarseFrames:
    """Short-time power spectra.

    `centres_s` (n,) are the middles of the frames in seconds, `power` (n, bins) their powers at
    multiples of `bin_hz` from 0 Hz, `size` the samples of a frame, `samples` (any,) what they are
    spectra of.
    """

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
class CoarsePitches:
    """The pitch of each frame in Hz, shape (n,), NaN where no line stands out, and its clarity
    (n,): the share (0 to 1) of all power that lies in its partials."""

    f0_hz: Floats
    clarity: Floats


def make_coarse_frames(samples: Samples, sample_rate_hz: float) -> CoarseFrames:
    """Short-time Fourier transform with a Hann window, powers up to 8 kHz.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`. Done in blocks, so that memory
    follows only what is kept.
    """
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

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


def find_pitches(frames: CoarseFrames) -> CoarsePitches:
    """The pitch of each frame."""
    kept = int(TOP_HZ / frames.bin_hz) + 1
    f0_hz = np.empty(len(frames.power))
    clarity = np.empty(len(frames.power))
    for at in range(0, len(frames.power), BLOCK_FRAMES):
        block = slice(at, at + BLOCK_FRAMES)
        floor = estimate_floor(frames.power[block], frames.bin_hz)[:, :kept]
        power = frames.power[block, :kept]
        f0_hz[block] = _find_block(power, floor, frames.bin_hz)
        clarity[block] = find_clarity(f0_hz[block], power, frames.bin_hz)
    return CoarsePitches(f0_hz, clarity)


def _find_block(power: Floats, floor: Floats, bin_hz: float) -> Floats:
    """The pitches of power spectra (n, bins of `bin_hz` from 0 Hz), NaN where there is none."""
    lines = drop_hum(find_lines(power, floor, bin_hz))
    f0_hz, _ = _find_f0(lines, bin_hz)
    is_other = lines.exist & ~is_near_mains(lines.freq_hz)
    others = np.count_nonzero(is_other, axis=1)
    is_doubtful = (others >= LEAST_OTHERS) & (others < np.count_nonzero(lines.exist, axis=1))
    rows = np.flatnonzero(is_doubtful)
    if not rows.size:
        return f0_hz
    # hum at a half or a third of a note's pitch would make it an octave or a twelfth too low
    others_hz, explained = _find_f0(lines.only(is_other).of_rows(rows), bin_hz)
    times = others_hz / f0_hz[rows]
    whole = np.clip(np.rint(times), 2, 3)
    is_better = (explained >= EXPLAINED_SHARE) & (np.abs(times / whole - 1) < SAME_SHARE)
    f0_hz[rows] = np.where(is_better, others_hz, f0_hz[rows])
    return f0_hz


def _find_f0(lines: Lines, bin_hz: float) -> tuple[Floats, Floats]:
    """The highest candidate that explains the lines nearly as well as any, and how much it does.

    NaN, which explains nothing, where there is no candidate.
    """
    fitted_hz, explained = _fit_candidates(_list_candidates(lines), lines, bin_hz)
    best = explained.max(axis=1, keepdims=True)
    is_enough = (explained >= EXPLAINED_SHARE * best) & (best > 0)
    highest = np.argmax(np.where(is_enough, fitted_hz, 0.0), axis=1)
    row = np.arange(len(fitted_hz))
    return np.where(best[:, 0] > 0, fitted_hz[row, highest], np.nan), explained[row, highest]


def _list_candidates(lines: Lines) -> Floats:
    """The strongest lines by whole numbers (n, c); NaN for what is no pitch."""
    lines_hz = np.where(lines.exist, lines.freq_hz, np.nan)[:, :STRONG_LINES, np.newaxis]
    candidates_hz = (lines_hz / np.arange(1, MAX_DIVISOR + 1)).reshape(len(lines_hz), -1)
    is_pitch = (candidates_hz >= MIN_F0_HZ) & (candidates_hz <= MAX_F0_HZ)
    return np.where(is_pitch, candidates_hz, np.nan)


def _fit_candidates(candidates_hz: Floats, lines: Lines, bin_hz: float) -> tuple[Floats, Floats]:
    """Each candidate (n, c) fitted to the lines near its multiples, and the share explained.

    What is NaN stays so, and explains nothing.
    """
    weight = lines.power**0.25
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), TINY)
    freq_hz = lines.freq_hz[:, np.newaxis, :]
    reach_hz = 1.0 * bin_hz + 0.006 * freq_hz
    f0_hz, share = candidates_hz, np.zeros(candidates_hz.shape)
    for _ in range(3):
        each_hz = f0_hz[:, :, np.newaxis]
        number = np.maximum(np.rint(freq_hz / each_hz), 1)
        is_matched = np.abs(freq_hz - number * each_hz) < np.minimum(reach_hz, 0.15 * each_hz)
        matched = np.where(is_matched, weight[:, np.newaxis, :], 0.0)
        share = matched.sum(axis=2)
        counted = matched * number
        normal = np.einsum("ncl,ncl->nc", counted, number)
        fitted_hz = np.einsum("ncl,nl->nc", counted, lines.freq_hz) / np.maximum(normal, TINY)
        f0_hz = np.where(normal > 0, fitted_hz, f0_hz)
    return f0_hz, share


def find_clarity(f0_hz: Floats, power: Floats, bin_hz: float) -> Floats:
    """Share of the power near multiples of f0: within two bins, or as far as vibrato smears them.

    Never more than a tenth of f0, so that most of what is no tone lies outside. `f0_hz` of shape
    (n,), `power` (n, bins) at multiples of `bin_hz` from 0 Hz; returns (n,), 0 to 1, NaN where f0
    is.
    """
    low = int(LOWEST_HZ / bin_hz)
    bins_hz = np.arange(low, power.shape[1]) * bin_hz
    each_hz = f0_hz[:, np.newaxis]
    number = np.maximum(np.rint(bins_hz / each_hz), 1)
    reach_hz = np.maximum((CLEAR_BINS + 0.5) * bin_hz, np.minimum(SMEAR * number, 0.1) * each_hz)
    is_near = np.abs(bins_hz - number * each_hz) < reach_hz
    near = np.where(is_near, power[:, low:], 0.0).sum(axis=1)
    share = near / np.maximum(power[:, low:].sum(axis=1), TINY)
    return np.where(np.isnan(f0_hz), np.nan, share)
