"""Timbre (colour) of a tone: spectral centroid, odd/even balance, breath noise; and its spectrum.

Brightness is the harmonic spectral centroid: the mean frequency of the partials weighted by their
linear amplitude, sum f_k A_k / sum A_k, as in MPEG-7's HarmonicSpectralCentroid (ISO/IEC 15938-4)
and Peeters et al., "The Timbre Toolbox", JASA 130(5), 2011 (both from memory). With f_k = k f0 it
is f0 times sum k A_k / sum A_k: brightness in partial numbers, comparable across notes.

The odd/even balance is the power of the odd partials, the fundamental among them, over that of the
even ones, in dB: the odd-to-even harmonic energy ratio of the same paper (from memory). A clarinet
low down has much more of the odd ones: a closed tube (common knowledge of its acoustics).

Breath noise is the power of what sounds between the partials, from f0 to half a partial above the
highest that is looked for, over the power of the partials, in dB: the noise energy over the
harmonic energy of the same paper, with the noise read half-way between the partials.

All are ratios and so don't depend on the recording level.

Limits: partials up to 8 kHz (0.45 of the sample rate if that is lower) that stand 6 dB above the
noise in their band; more noise hides high partials and lowers the brightness. Noise of the room and
the recorder counts as breath noise (`room_noise` says where it is the lesser part); the tone's own
movement leaks between the partials, so that with a player's wander a breath noise is an upper limit
below about -40 dB at 60 Hz, -46 dB at 150 Hz, -60 dB from 400 Hz on (measured on made tones; a wide
vibrato raises it by up to 7 dB under 100 Hz). Microphone, distance and room colour all of it, so
compare takes made in one set-up.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.coarse_pitch import CoarseFrames
from analysis.recording.measurement import Partial, Spectrum
from analysis.recording.order_statistics import pick_quantile
from analysis.recording.partials import PartialReadings

Floats = NDArray[np.floating[Any]]

MIN_POWER_OVER_NOISE = 4.0
DISPLAY_POINTS = 400
DISPLAY_FROM_HZ = 40.0
DISPLAY_FLOOR_DB = -120.0
# Noise is read as the mean power of two neighbouring bins of a Hann window. Their amplitudes
# correlate by 2/3, so this power has the spread of a gamma of shape 2 / (1 + (2/3)^2), whose median
# lies at (1 - 1 / (9 shape))^3 of its mean (Wilson & Hilferty 1931, from memory).
NOISE_MEDIAN_SHARE = (1 - (1 + 4 / 9) / 18) ** 3
HANN_POWER = 3 / 8  # mean square of the window


def find_amplitudes(readings: PartialReadings) -> Floats:
    """Amplitude of each partial, shape (k,), noise power taken off; 0 where it is not heard."""
    noise = np.mean(readings.noise, axis=0)
    power = np.mean(readings.power, axis=0)
    return np.asarray(np.sqrt(np.where(power > MIN_POWER_OVER_NOISE * noise, power - noise, 0.0)))


def find_brightness(amplitudes: Floats) -> float | None:
    """Centroid in partial numbers, without unit: sum k A_k / sum A_k; 1 is a pure fundamental.

    `amplitudes` of shape (k,) are linear, of partials 1 to k; their scale does not matter. None
    where no partial is heard. Source and limits: see the module.

    >>> import numpy as np
    >>> find_brightness(np.array([1.0, 0.0, 1.0]))
    2.0
    """
    total = float(amplitudes.sum())
    if total <= 0:
        return None
    numbers = np.arange(1, len(amplitudes) + 1)
    return float(numbers @ amplitudes) / total


def find_odd_even_db(amplitudes: Floats) -> float | None:
    """Power of the odd partials over that of the even ones, in dB; above 0 the odd ones prevail.

    `amplitudes` as for `find_brightness`, shape (k,). None where one kind is not heard at all: it
    lies under the noise by nobody knows how much. Source and limits: see the module.

    >>> import numpy as np
    >>> round(find_odd_even_db(np.array([1.0, 0.1])), 1)
    20.0
    """
    odd, even = (float(np.sum(amplitudes[first::2] ** 2)) for first in (0, 1))
    if odd <= 0 or even <= 0:
        return None
    return 10 * float(np.log10(odd / even))


def find_breath_noise_db(readings: PartialReadings, amplitudes: Floats) -> float | None:
    """Noise between the partials against the tone, in dB.

    `amplitudes` from `find_amplitudes`, shape (k,). Each reading half-way between two partials
    stands for the band from one to the next; medians over time, so that a click does not count. By
    Parseval's theorem the sum over all bins is the noise's mean square, and a partial of amplitude
    A has A^2 / 2. None where there is no tone or no noise at all. Source and limits: see the
    module.
    """
    per_bin = pick_quantile(readings.noise) / NOISE_MEDIAN_SHARE
    # white noise of variance v shows 16 / n v HANN_POWER in each of the n / 2 bins of n samples
    noise = float(per_bin.sum()) * readings.periods / (8 * HANN_POWER)
    tone = float(np.sum(amplitudes**2)) / 2
    if noise <= 0 or tone <= 0:
        return None
    return 10 * float(np.log10(noise / tone))


def make_spectrum(
    frames: CoarseFrames, amplitudes: Floats, *, f0_hz: float, from_s: float, to_s: float
) -> Spectrum:
    """Average the spectrum of the steady part, in dB, the strongest partial at 0 dB.

    `amplitudes` from `find_amplitudes`, shape (k,); the steady part in seconds.
    """
    strongest = float(amplitudes.max())
    if strongest <= 0:
        return Spectrum((), (), ())
    first, last = np.searchsorted(frames.centres_s, (from_s, to_s))
    if first == last:
        middle_s = 0.5 * (from_s + to_s)
        first = np.argmin(np.abs(frames.centres_s - middle_s))
        last = first + 1
    level = np.sqrt(frames.power[first:last].mean(axis=0)) * 4 / frames.size / strongest
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
