"""Made recordings that are more, or less, than one held note.

Talk, multiphonics, quick passages and several notes one after the other, each by formula. Talk is a
voice-like pulse train whose pitch slides by semitones within syllables and whose two formants move,
with hiss between: what is common knowledge of speech (from memory), imitating no speaker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.analysis.recording.tones import make_noise

Samples = NDArray[np.float64]

RATE = 44_100


def speak(seed: int, *, seconds: float = 3.0, voice_hz: float = 120.0) -> Samples:
    """Syllables of sliding pitch and moving formants, some joined, with hiss and pauses between."""
    rng = np.random.default_rng([seed, 11])
    pieces: list[Samples] = []
    while sum(map(len, pieces)) < seconds * RATE:
        time_s = np.arange(int(rng.uniform(0.12, 0.35) * RATE)) / RATE
        share = time_s / time_s[-1]
        bend = rng.uniform(1.0, 4.0) * rng.choice([-1, 1]) * share + rng.uniform(-2, 2) * share**2
        turns = np.cumsum(voice_hz * 2 ** ((rng.uniform(-4, 4) + bend) / 12)) / RATE
        low_hz = rng.uniform(300, 800) * 2 ** (rng.uniform(-0.5, 0.5) * share)
        high_hz = rng.uniform(900, 2200) * 2 ** (rng.uniform(-0.5, 0.5) * share)
        voice = np.zeros(len(time_s))
        for k in range(1, int(3500 / voice_hz)):
            level = sum(1 / (1 + ((k * voice_hz - f) / 90) ** 2) for f in (low_hz, high_hz))
            voice += level * np.sin(2 * np.pi * k * turns)
        pieces.append(0.1 * voice * np.clip(8 * np.minimum(share, 1 - share), 0, 1))
        if rng.uniform() < 0.7:
            pieces.append(0.02 * rng.standard_normal(int(rng.uniform(0.03, 0.12) * RATE)))
        if rng.uniform() < 0.2:
            pieces.append(np.zeros(int(rng.uniform(0.1, 0.4) * RATE)))
    clip = np.concatenate(pieces)
    return np.asarray(clip + 1e-4 * rng.standard_normal(len(clip)))


def sound_together(
    f0s_hz: Sequence[float], levels_db: Sequence[float], *, seconds: float = 1.5, seed: int = 1
) -> Samples:
    """Several series of partials at once, the first two with their combination tones."""
    rng = np.random.default_rng([seed, 12])
    time_s = np.arange(int(seconds * RATE)) / RATE
    lines = [
        (k * f0_hz, level_db - 8 * np.log2(k) - (0 if k % 2 else 10))
        for f0_hz, level_db in zip(f0s_hz, levels_db, strict=True)
        for k in range(1, 9)
    ]
    if len(f0s_hz) > 1:
        lines += [
            (abs(m * f0s_hz[0] + n * f0s_hz[1]), min(levels_db[:2]) - 14 - 4 * (abs(m) + abs(n)))
            for m in (-2, -1, 1, 2)
            for n in (-2, -1, 1, 2)
        ]
    sound = np.zeros(len(time_s))
    for freq_hz, level_db in lines:
        phase = rng.uniform(0, 2 * np.pi)
        sound += 10 ** (level_db / 20) * np.sin(2 * np.pi * freq_hz * time_s + phase)
    ends = np.clip(np.minimum(time_s, seconds - time_s) / 0.03, 0, 1)
    return np.asarray(0.05 * sound * ends + 1e-4 * rng.standard_normal(len(time_s)))


@dataclass(frozen=True)
class Played:
    """One note of a phrase; `gap_s` is the silence before it (0: slurred from the last)."""

    f0_hz: float
    seconds: float = 1.0
    gap_s: float = 0.4
    level: float = 0.1


def play(
    notes: Sequence[Played],
    *,
    seed: int = 1,
    snr_db: float = 50.0,
    partials: Sequence[int] = (1, 3, 5, 7),
) -> Samples:
    """A phrase of clarinet-like notes; slurred ones change pitch within 10 ms, without a dip."""
    rng = np.random.default_rng([seed, 13])
    pitch, level = [], []
    for note in notes:
        rest, held = round(note.gap_s * RATE), round(note.seconds * RATE)
        pitch.append(np.full(rest + held, np.log2(note.f0_hz)))
        level.append(np.repeat([0.0, note.level], [rest, held]))
    pitch.append(np.full(RATE // 3, np.log2(notes[-1].f0_hz)))
    level.append(np.zeros(RATE // 3))
    turns = np.cumsum(2 ** _smooth(np.concatenate(pitch), 0.01)) / RATE
    tone = sum(np.sin(2 * np.pi * k * turns) / k**1.5 for k in partials)
    noise = 0.1 * 10 ** (-snr_db / 20) * make_noise(len(turns), rng)
    return np.asarray(tone * _smooth(np.concatenate(level), 0.02) + noise)


def place_notes(notes: Sequence[Played]) -> list[tuple[float, float]]:
    """Where each note of a phrase sounds, in seconds."""
    ends = np.cumsum([note.gap_s + note.seconds for note in notes])
    return [(float(end) - n.seconds, float(end)) for end, n in zip(ends, notes, strict=True)]


def reverberate(samples: Samples, *, seconds: float = 1.0, seed: int = 4) -> Samples:
    """The same in a room: a tail that falls by 60 dB, 12 dB under the direct sound."""
    count = round(seconds * RATE)
    tail = np.random.default_rng(seed).standard_normal(count)
    tail *= 10 ** (-3 * np.arange(count) / count)
    tail *= 10 ** (-12 / 20) / np.sqrt(np.sum(tail**2))
    size = len(samples) + count
    wet = np.fft.irfft(np.fft.rfft(samples, size) * np.fft.rfft(tail, size), size)
    return np.asarray(samples + wet[: len(samples)])


def hum(count: int, mains_hz: float, level: float, kind: str, *, seed: int = 1) -> Samples:
    """Mains hum of an RMS level: "pure", "odd" partials, or the "buzz" of a rectifier."""
    numbers = {"pure": (1,), "odd": (1, 3, 5), "buzz": (1, 2, 3, 4, 5, 6, 8)}[kind]
    turns = mains_hz * np.arange(count) / RATE
    phases = np.random.default_rng([seed, 14]).uniform(0, 2 * np.pi, len(numbers))
    wave = sum(np.sin(2 * np.pi * k * turns + p) / k for k, p in zip(numbers, phases, strict=True))
    return np.asarray(wave * level / np.sqrt(np.mean(wave**2)))


def _smooth(values: Samples, seconds: float) -> Samples:
    """A moving mean, the ends held."""
    size = round(seconds * RATE) | 1
    padded = np.pad(values, size // 2, mode="edge")
    total = np.concatenate(([0.0], np.cumsum(padded)))
    return np.asarray((total[size:] - total[:-size]) / size)
