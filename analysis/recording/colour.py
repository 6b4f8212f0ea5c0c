"""Brightness and the spectrum for display.

The harmonic spectral centroid is the mean frequency of the partials weighted by their linear
amplitude, sum f_k A_k / sum A_k, as in MPEG-7's HarmonicSpectralCentroid (ISO/IEC 15938-4) and
Peeters et al., "The Timbre Toolbox", JASA 130(5), 2011 (both from memory). With f_k = k f0 it is
f0 times sum k A_k / sum A_k: brightness in partial numbers, which can be compared across notes.
Both are ratios of amplitudes and so don't depend on the recording level.

Limits: partials up to 8 kHz (0.45 of the sample rate if that is lower) that stand 6 dB above the
noise in their band; more noise hides high partials and lowers the figure. Microphone, distance and
room colour it, so compare takes made in one set-up.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse import CoarseFrames
from analysis.recording.fine import HarmonicTrack
from analysis.recording.measurement import Partial, Spectrum

Floats = NDArray[np.floating[Any]]

MIN_POWER_OVER_NOISE = 4.0
DISPLAY_POINTS = 400
DISPLAY_FROM_HZ = 40.0
DISPLAY_FLOOR_DB = -120.0


def find_amplitudes(track: HarmonicTrack, rows: slice) -> Floats:
    """Amplitude of each partial over the steady rows, noise taken off; 0 where it is not heard."""
    noise = np.mean(track.noise[rows], axis=0)
    power = np.mean(track.power[rows], axis=0)
    net = np.where(power > MIN_POWER_OVER_NOISE * noise, power - noise, 0.0)
    # a Hann window of n samples shows amplitude a as n a / 4
    return np.asarray(np.sqrt(net) * 4 / track.grid.size)


def find_brightness(amplitudes: Floats) -> float | None:
    """Centroid in partial numbers: sum k A_k / sum A_k.

    >>> import numpy as np
    >>> find_brightness(np.array([1.0, 0.0, 1.0]))
    2.0
    """
    total = float(amplitudes.sum())
    if total <= 0:
        return None
    numbers = np.arange(1, len(amplitudes) + 1)
    return float(numbers @ amplitudes) / total


def make_spectrum(
    frames: CoarseFrames, amplitudes: Floats, *, f0_hz: float, from_s: float, to_s: float
) -> Spectrum:
    """The average spectrum of the steady part in dB, the strongest partial at 0 dB."""
    strongest = float(amplitudes.max())
    if strongest <= 0:
        return Spectrum((), (), ())
    is_inside = (frames.centres_s >= from_s) & (frames.centres_s <= to_s)
    if not is_inside.any():
        middle_s = 0.5 * (from_s + to_s)
        is_inside = (
            frames.centres_s == frames.centres_s[np.argmin(np.abs(frames.centres_s - middle_s))]
        )
    level = np.sqrt(frames.power[is_inside].mean(axis=0)) * 4 / frames.size / strongest
    level_db = np.maximum(20 * np.log10(np.maximum(level, 1e-9)), DISPLAY_FLOOR_DB)
    bins = _pick_display_bins(level_db, frames.bin_hz)
    return Spectrum(
        tuple(round(float(at) * frames.bin_hz, 1) for at in bins),
        tuple(round(float(level_db[at]), 1) for at in bins),
        _list_partials(amplitudes / strongest, f0_hz),
    )


def _pick_display_bins(level_db: Floats, bin_hz: float) -> list[int]:
    """The loudest bin of each of 400 equal steps in log frequency (fewer where bins are wide)."""
    first = max(1, int(np.ceil(DISPLAY_FROM_HZ / bin_hz)))
    edges = np.geomspace(first, len(level_db), DISPLAY_POINTS + 1)
    starts = np.unique(edges[:-1].astype(int))
    ends = np.append(starts[1:], len(level_db))
    return [int(a + np.argmax(level_db[a:b])) for a, b in zip(starts, ends, strict=True)]


def _list_partials(relative: Floats, f0_hz: float) -> tuple[Partial, ...]:
    return tuple(
        Partial(number, round(number * f0_hz, 2), round(20 * float(np.log10(share)), 1))
        for number, share in enumerate(relative, start=1)
        if share > 0
    )
