"""Robust weighted least squares over the partials' phase advances: one pitch for each hop.

A partial with signal-to-noise power ratio S in its bin has phase variance 1 / (2 S), so its
advance divided by its number k weighs k^2 S. A partial whose advances scatter more than its noise
explains (a hum, a neighbour) weighs by its scatter instead, and single outliers are limited:
iteratively reweighted least squares with the weights of Huber's M-estimate (Ann. Math. Stat. 35,
1964; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.order_statistics import pick_quantile
from analysis.recording.phase_vocoder import Complexes, Grid, HarmonicTrack

Floats = NDArray[np.floating[Any]]

CENTS = 1200 / np.log(2)
HUBER_LIMIT = 2.5
NOISE_FLOOR = 1e-7  # of the strongest partial: gaps that a codec emptied prove nothing
MIN_SNR = 6.0  # below it a phase wraps too often to be of use
PASSES = 3
HANN_VARIANCE = 1 / 12 - 1 / (2 * np.pi**2)  # of a Hann window of length 1 as a density


@dataclass(frozen=True, slots=True)
class CombinedPitch:
    """The pitch of each hop as all partials tell it, not yet smoothed.

    `cents` (m,) is the deviation from `reference_hz`; `phase_variance` is what noise alone adds to
    its running sum (in cent-hops, squared); `blur_hops` is the width (one standard deviation) over
    which the windows average, in hops.
    """

    reference_hz: float
    cents: Floats
    phase_variance: float
    blur_hops: float


def combine_partials(track: HarmonicTrack, rows: slice) -> CombinedPitch:
    """Combine the partials in some rows of a track by robust weighted least squares."""
    grid = track.grid
    hop_variance = _find_hop_variance(grid)
    snr = estimate_snr(track, rows)
    numbers = np.arange(1, len(snr) + 1)
    usable = np.maximum(snr, 1e-3)
    # radians^2 of the fundamental; the last factor is the next order of the phase's variance
    theory = hop_variance / (2 * numbers**2 * usable) * (1 + 1 / usable)
    is_used = snr > MIN_SNR if (snr > MIN_SNR).any() else np.ones(len(snr), dtype=bool)
    advance = track.advance[rows][:, is_used]
    radians, weight = _fit_radians(advance, numbers[is_used], theory[is_used])
    f0_hz = track.predicted_hz[rows] + radians / (2 * np.pi * grid.hop_s)
    reference_hz = float(np.median(f0_hz))
    phase_variance = _find_overlap(grid) / (weight * hop_variance)
    cents_per_radian = CENTS / (2 * np.pi * reference_hz * grid.hop_s)
    return CombinedPitch(
        reference_hz,
        CENTS * np.log(f0_hz / reference_hz),
        float(phase_variance * cents_per_radian**2),
        float(np.sqrt(HANN_VARIANCE * (grid.size / grid.hop) ** 2 + 1 / 12)),
    )


def _fit_radians(advance: Complexes, numbers: NDArray[Any], theory: Floats) -> tuple[Floats, float]:
    """Advance of the fundamental beyond its prediction in each hop, and the usual weight of one."""
    cells = np.broadcast_to(1 / theory, advance.shape)
    radians = np.zeros(len(advance))
    for _ in range(PASSES):
        # turned back by what is known so far, a partial's phase no longer wraps
        left = np.angle(advance * np.exp(-1j * radians[:, None] * numbers)) / numbers
        step = (cells * left).sum(axis=1) / cells.sum(axis=1)
        radians = radians + step
        left = left - step[:, None]
        scatter = (1.4826 * pick_quantile(np.abs(left))) ** 2
        variance = np.maximum(theory, scatter)
        size = np.abs(left) / np.sqrt(variance)
        cells = np.minimum(1, HUBER_LIMIT / np.maximum(size, 1e-9)) / variance
    return radians, float(np.median(cells.sum(axis=1)))


def estimate_snr(track: HarmonicTrack, rows: slice) -> Floats:
    """Signal-to-noise power ratio of each partial in its bin, shape (k,): medians over the rows.

    The noise is never taken to lie more than 70 dB under the strongest partial. A codec empties the
    gaps between the partials, where the noise is read, and leaves its own under them.
    """
    # the mean of two exponential powers has its median at 0.839 of its mean (gamma, shape 2)
    noise = pick_quantile(track.noise[rows]) / 0.839
    padded = np.pad(noise, 2, mode="edge")
    noise = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    power = pick_quantile(track.power[rows])
    noise = np.maximum(noise, max(NOISE_FLOOR * float(power.max()), 1e-30))
    return np.asarray(np.maximum(power / noise - 1, 0))


def _correlation(grid: Grid, hops: int) -> float:
    """Correlation of the noise in two windows so many hops apart."""
    window = np.hanning(grid.size + 1)[:-1]
    shift = hops * grid.hop
    if shift >= grid.size:
        return 0.0
    return float((window[shift:] * window[: grid.size - shift]).sum() / (window**2).sum())


def _find_hop_variance(grid: Grid) -> float:
    """Variance of a phase advance over one hop, for unit variance of the phase."""
    return 2 * (1 - _correlation(grid, 1))


def _find_overlap(grid: Grid) -> float:
    """How much slower the noise of overlapping windows averages out than independent noise."""
    hops = range(1, grid.size // grid.hop + 1)
    return 1 + 2 * sum(_correlation(grid, h) for h in hops)
