"""Steady part of a tone: onset and release detection by level thresholds.

The tone's own level (the partials above the noise, not the noise) must stay above a tenth of
its 90th percentile; of several such spans the longest counts. What a room rings on is no part of
the tone: its end is where the level was last within 6 dB of what it had been in the 0.3 s before.
From the start 150 ms are taken off, in which the pitch settles, or a quarter of a short span; from
the end 60 ms, or 15%. The steady part belongs to the definition of a take's median pitch. All
limits are ours.

Limits: a player who fades by more than 20 dB in a second has that fading cut off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.order_statistics import pick_quantile
from analysis.recording.phase_fit import MIN_SNR, estimate_snr
from analysis.recording.phase_vocoder import HarmonicTrack

Floats = NDArray[np.floating[Any]]

LEVEL_SHARE = 0.1
SETTLE_S = 0.15
SETTLE_SHARE = 0.25
TRIM_S = 0.06
TRIM_SHARE = 0.15
LOOK_BACK_S = 0.3
RELEASE_SHARE = 0.5
# a Hann window reaches a tenth of its full response this share of its length before a step
EDGE_BLUR = 0.23
# Between windows that overlap by half (and so are nearly independent) noise changes its log power
# by ln 3 in the median: the difference of two log exponentials is logistic. A tone changes less.
NOISE_CHANGE = 0.65 * np.log(3)


@dataclass(frozen=True, slots=True)
class SteadyPart:
    """Where the tone sounds, in seconds, and the rows of the track that are steady."""

    sounds_from_s: float
    sounds_to_s: float
    rows: slice

    @property
    def sounding_s(self) -> float:
        """How long the tone sounds."""
        return self.sounds_to_s - self.sounds_from_s


def find_steady_part(track: HarmonicTrack) -> SteadyPart | None:
    """The sounding span and its steady rows; None where no partial stands above the noise."""
    snr = estimate_snr(track, slice(None))
    total = track.power.sum(axis=1)
    loud_rows = total >= np.median(total)
    snr = np.maximum(snr, _snr_over(track, loud_rows))
    if snr.max() < MIN_SNR:
        return None
    level = np.sqrt(track.power[:, snr >= MIN_SNR].sum(axis=1))
    first, last = _find_longest(level >= LEVEL_SHARE * np.quantile(level, 0.9))
    faint, last = last, _find_release(level, first, last, round(LOOK_BACK_S / track.grid.hop_s))
    times_s, grid = track.times_s, track.grid
    sounds_from_s = float(times_s[first]) + EDGE_BLUR * grid.window_s
    sounds_to_s = float(times_s[last])  # half of the level is where half of the window sounds
    if last == faint:
        sounds_to_s -= EDGE_BLUR * grid.window_s
    if first == 0:
        sounds_from_s = grid.first_sample / grid.sample_rate_hz
    if last == len(times_s) - 1:
        sounds_to_s = float(times_s[last]) + grid.window_s / 2
    length_s = sounds_to_s - sounds_from_s
    settle_s = max(min(SETTLE_S, SETTLE_SHARE * length_s), grid.window_s / 2)
    trim_s = max(min(TRIM_S, TRIM_SHARE * length_s), grid.window_s / 2)
    is_steady = (times_s >= sounds_from_s + settle_s) & (times_s <= sounds_to_s - trim_s)
    steady = np.flatnonzero(is_steady)
    rows = slice(int(steady[0]), int(steady[-1]) + 1) if steady.size else slice(0, 0)
    return SteadyPart(sounds_from_s, max(sounds_to_s, sounds_from_s), rows)


def is_noise_like(track: HarmonicTrack, steady_part: SteadyPart) -> bool:
    """Whether the strongest partial flickers as narrow-band noise does, and not like a tone."""
    power = track.power[steady_part.rows]
    lag = -(-track.grid.size // (2 * track.grid.hop))
    if len(power) <= lag + 3:
        return False
    log_power = np.log(power[:, int(np.argmax(power.mean(axis=0)))] + np.finfo(np.float32).tiny)
    return bool(np.median(np.abs(log_power[lag:] - log_power[:-lag])) > NOISE_CHANGE)


def _find_release(level: Floats, first: int, last: int, look: int) -> int:
    """The last row of the tone itself: a room's ringing falls off quicker than a player fades."""
    while last > first:
        before = level[max(first, last - look) : last + 1]
        if level[last] >= RELEASE_SHARE * before.max():
            break
        last -= 1
    return last


def _snr_over(track: HarmonicTrack, rows: NDArray[np.bool_]) -> Floats:
    noise = pick_quantile(track.noise[rows]) / 0.839
    return np.asarray(pick_quantile(track.power[rows]) / np.maximum(noise, 1e-30) - 1)


def _find_longest(is_on: NDArray[np.bool_]) -> tuple[int, int]:
    """First and last index of the longest stretch of True (there is at least one)."""
    edges = np.diff(np.concatenate(([False], is_on, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    longest = int(np.argmax(ends - starts))
    return int(starts[longest]), int(ends[longest]) - 1
