"""Noise of the room by the clip's silent part: does it leave breath noise to be heard?

Before its onset and after its release a take holds the room and the recorder alone. The power of
that within the band in which breath noise is read (`colour`) is compared with the breath noise: it
must lie 6 dB under it, so that the room adds 1.3 dB at most. The silent part is taken in pieces of
50 ms at least 50 ms away from the tone, of which the lower quartile counts: a room's reverberation
and a key's click are louder than the room.

Limits: a clip without 50 ms of silence cannot tell, nor can one whose silence was cut to nothing by
a gate or a codec; there the noise between the partials may be the room's, so nothing is said.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.samples import Samples, release_pages

Floats = NDArray[np.floating[Any]]

PIECE_S = 0.05
AWAY_S = 0.05
LOOK_S = 3.0  # of silence on either side
QUARTILE = 0.25
UNDER_BREATH_DB = 6.0
GATED_SHARE = 10**-13.5  # of the tone's power; even 24 bits are noisier


def find_room_power(
    samples: Samples,
    sample_rate_hz: float,
    *,
    sounds_s: tuple[float, float],
    band_hz: tuple[float, float],
) -> float | None:
    """Mean square of the room's noise within a band, or None where the clip cannot tell.

    `samples` of shape (n,), full scale -1 to 1, at `sample_rate_hz`; `sounds_s` is from where to
    where the tone sounds.

    >>> noise = 0.01 * np.random.default_rng(1).standard_normal(48_000)
    >>> power = find_room_power(noise, 48_000, sounds_s=(0.4, 0.6), band_hz=(0.0, 12_000.0))
    >>> bool(abs(10 * np.log10(power / 0.5e-4)) < 1.0)
    True
    """
    from scipy import fft  # late: scipy loads slowly, and most pages measure nothing

    size = fft.next_fast_len(int(PIECE_S * sample_rate_hz), real=True)
    pieces = [
        part[: len(part) // size * size].reshape(-1, size)
        for part in _cut_silence(samples, sample_rate_hz, sounds_s)
    ]
    rows = np.concatenate(pieces).astype(np.float64)
    release_pages(samples)
    if not len(rows):
        return None
    window = np.hanning(size + 1)[:-1]
    bins = fft.rfft(rows * window, axis=1)
    low, high = (int(each / sample_rate_hz * size) for each in band_hz)
    inside = (bins.real**2 + bins.imag**2)[:, low : high + 1]
    powers = 2 * inside.sum(axis=1) / (size * float(window @ window))
    return float(np.quantile(powers, QUARTILE))


def is_breath_audible(breath_db: float, tone_power: float, room_power: float | None) -> bool:
    """Whether breath noise, in dB against a tone of a mean square, stands clear of the room's.

    >>> is_breath_audible(-40.0, 1e-2, 1e-7), is_breath_audible(-40.0, 1e-2, 5e-7)
    (True, False)
    """
    if room_power is None or room_power < GATED_SHARE * tone_power:
        return False
    breath_power = tone_power * 10 ** (breath_db / 10)
    return room_power <= 10 ** (-UNDER_BREATH_DB / 10) * breath_power


def _cut_silence(
    samples: Samples, rate_hz: float, sounds_s: tuple[float, float]
) -> tuple[Samples, Samples]:
    """Sound of the room before and after the tone, as views, up to a few seconds of each."""
    before, after = (sounds_s[0] - AWAY_S) * rate_hz, (sounds_s[1] + AWAY_S) * rate_hz
    look = int(LOOK_S * rate_hz)
    stop, start = max(0, int(before)), min(len(samples), max(0, int(after)))
    return samples[max(0, stop - look) : stop], samples[start : start + look]
