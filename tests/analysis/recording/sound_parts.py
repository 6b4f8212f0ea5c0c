"""Parts of made sounds: drawing of pitches and levels, partials along a path, room and noise.

A `Sound` carries its samples with what is known of it by construction. Pitch and loudness are paths
over time; partials follow them by formula.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.analysis.recording.sounds import RATE, reverberate
from tests.analysis.recording.tones import make_noise

Samples = NDArray[np.float64]
Rng = np.random.Generator


@dataclass(frozen=True)
class Sound:
    """A made sound of `RATE`, and the pitches in it that are known (none where there is none).

    `path_hz` is the pitch at each sample where that moves or comes and goes, NaN where there is
    none.
    """

    samples: Samples
    f0s_hz: tuple[float, ...] = ()
    rate_hz: float | None = None  # of a trill, a tremolo or a flutter
    path_hz: Samples | None = None

    def find_pitches_hz(self, from_s: float, to_s: float) -> tuple[float, ...]:
        """Its pitches in a span of time: of a path the median, if there is one half of the time."""
        if self.path_hz is None:
            return self.f0s_hz
        inside = self.path_hz[int(from_s * RATE) : int(to_s * RATE) + 1]
        known = inside[np.isfinite(inside)]
        if not known.size or known.size < 0.5 * inside.size:
            return self.f0s_hz
        return (*self.f0s_hz, float(np.median(known)))


def draw_hz(rng: Rng, low_hz: float = 60.0, high_hz: float = 1600.0) -> float:
    """A pitch, even in logarithm."""
    return float(low_hz * (high_hz / low_hz) ** rng.uniform())


def draw_levels_db(rng: Rng, count: int) -> Samples:
    """Levels of partials 1 to `count`: falling, odd ones stronger by any amount, scattered."""
    numbers = np.arange(1, count + 1)
    levels = -rng.uniform(5, 13) * np.log2(numbers) + rng.normal(0, 3.0, count)
    return np.asarray(levels - np.where(numbers % 2, 0.0, rng.uniform(0, 22)))


def sound_path(rng: Rng, pitch_hz: Samples, levels_db: Samples, envelope: Samples) -> Samples:
    """Partials of a pitch path (n,) in Hz; `levels_db` (k,) or, changing in time, (k, n)."""
    turns = np.cumsum(pitch_hz) / RATE
    total = np.zeros(len(turns))
    for number, level in enumerate(levels_db, start=1):
        if number * float(pitch_hz.max()) > 0.42 * RATE:
            break
        phase = rng.uniform(0, 2 * np.pi)
        total += 10 ** (level / 20) * np.sin(2 * np.pi * number * turns + phase)
    return np.asarray(total * envelope)


def finish(rng: Rng, tone: Samples, *, snr_db: float | None = None) -> Samples:
    """Silence about a sound, a room for one in three, noise, and some level."""
    return finish_path(rng, tone, None, snr_db=snr_db).samples


def finish_path(
    rng: Rng, tone: Samples, path_hz: Samples | None, *, snr_db: float | None = None
) -> Sound:
    """The same with the pitch at each sample (n,) of `tone`, put where the sound was put."""
    rests = rng.uniform(0.05, 0.4, 2)
    pads = (int(rests[0] * RATE), int(rests[1] * RATE))
    padded = np.pad(tone, pads)
    if rng.uniform() < 0.33:
        room_s = rng.uniform(0.3, 1.2)
        padded = reverberate(padded, seconds=room_s, seed=int(rng.integers(1 << 30)))
    padded = padded * 10 ** (rng.uniform(-32, -12) / 20) / np.sqrt(np.mean(tone**2))
    snr = rng.uniform(30, 60) if snr_db is None else snr_db
    noise = make_noise(len(padded), rng, is_pink=bool(rng.integers(2)))
    samples = np.asarray(padded + noise * np.sqrt(np.mean(padded**2)) * 10 ** (-snr / 20))
    path = None if path_hz is None else np.pad(path_hz, pads, constant_values=np.nan)
    return Sound(samples, path_hz=path)


def fade(count: int, *, rise_s: float = 0.03, fall_s: float = 0.04) -> Samples:
    """Soft ends for `count` samples."""
    at = np.arange(count) / RATE
    return np.asarray(np.clip(np.minimum(at / rise_s, (at[-1] - at) / fall_s), 0, 1))


def make_wander(rng: Rng, count: int, size: float, low_hz: float, high_hz: float) -> Samples:
    """Slow random motion (n,) of a standard deviation, between two rates."""
    time_s = np.arange(count) / RATE
    rates = rng.uniform(low_hz, high_hz, 8)
    phases = rng.uniform(0, 2 * np.pi, 8)
    waves = [np.sin(2 * np.pi * r * time_s + p) for r, p in zip(rates, phases, strict=True)]
    return np.asarray(size * 0.5 * np.sum(waves, axis=0))
