"""Made loops: a slur back and forth between two notes, of which every change is known.

A change is abrupt, a slide, a silence or another note for a while (a register break). The tone is
odd partials with weaker even ones; levels, vibrato, noise and unevenness are drawn or given. That
players' changes look so is common knowledge (from memory); the sizes are invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tests.analysis.recording.tones import make_noise

Samples = NDArray[np.float64]

RATE = 44_100


class Between(StrEnum):
    """What is heard within a change."""

    SLIDE = "slide"
    SILENCE = "silence"
    OTHER_NOTE = "other note"


@dataclass(frozen=True)
class Loop:
    """How a loop is played; `scatter` is the standard deviation of its times over their mean."""

    lower_hz: float = 300.0
    interval_cents: float = 100.0
    rate_hz: float = 5.0
    count: int = 16
    up_s: float = 0.0
    down_s: float = 0.0
    between: Between = Between.OTHER_NOTE
    scatter: float = 0.06
    vibrato_cents: float = 4.0
    noise_db: float = 45.0
    even_db: float = -18.0
    fall_db: float = 8.0

    @property
    def upper_hz(self) -> float:
        return float(self.lower_hz * 2 ** (self.interval_cents / 1200))


@dataclass(frozen=True)
class Made:
    """Samples with the middles of the changes in seconds."""

    samples: Samples
    changes_s: Samples

    @property
    def rate_hz(self) -> float:
        return float(1 / np.diff(self.changes_s).mean())

    @property
    def unevenness(self) -> float:
        """The pairwise variability index in percent, by its formula."""
        steps = np.diff(self.changes_s)
        means = 0.5 * (steps[1:] + steps[:-1])
        return float(100 * np.mean(np.abs(np.diff(steps)) / means))


def make_loop(loop: Loop, seed: int) -> Made:
    """Play a loop; the first change leads up."""
    rng = np.random.default_rng([seed, 41])
    steps = np.maximum(rng.normal(1.0, loop.scatter, loop.count), 0.4) / loop.rate_hz
    changes_s = 0.3 + np.cumsum(steps)
    time_s = np.arange(round((changes_s[-1] + 0.5) * RATE)) / RATE
    cents, level = _follow(loop, changes_s, time_s)
    cents = cents + loop.vibrato_cents * np.sin(2 * np.pi * 5.1 * time_s + rng.uniform(0, 6))
    f0_hz = loop.lower_hz * 2 ** (cents / 1200)
    turns = np.cumsum(f0_hz) / RATE
    tone = np.zeros(len(time_s))
    for k in range(1, 13):
        if k * f0_hz.max() > 0.45 * RATE:
            break
        level_db = -loop.fall_db * np.log2(k) + (loop.even_db if k % 2 == 0 else 0.0)
        level_db += rng.normal(0, 2.0)
        tone += 10 ** (level_db / 20) * np.sin(2 * np.pi * k * turns + rng.uniform(0, 6))
    ends = np.clip(np.minimum(time_s / 0.03, (time_s[-1] - time_s) / 0.05), 0, 1)
    sound = np.pad(0.1 * tone * level * ends, (RATE // 4, RATE // 4))
    noise = make_noise(len(sound), rng, is_pink=bool(seed % 2))
    sound = sound + noise * np.sqrt(np.mean(sound**2)) * 10 ** (-loop.noise_db / 20)
    return Made(np.asarray(sound), changes_s + 0.25)


def _follow(loop: Loop, changes_s: Samples, time_s: Samples) -> tuple[Samples, Samples]:
    """Cents above the lower note, and the level, at each sample."""
    cents, level = np.zeros(len(time_s)), np.ones(len(time_s))
    for number, middle_s in enumerate(changes_s):
        is_up = number % 2 == 0
        from_cents, to_cents = (0.0, loop.interval_cents)[:: 1 if is_up else -1]
        length_s = loop.up_s if is_up else loop.down_s
        cents[time_s >= middle_s + length_s / 2] = to_cents
        inside = np.abs(time_s - middle_s) < length_s / 2
        if loop.between is Between.SLIDE:
            share = (time_s[inside] - middle_s) / max(length_s, 1e-9) + 0.5
            cents[inside] = from_cents + (to_cents - from_cents) * share
        elif loop.between is Between.SILENCE:
            level[inside] = 0.01
        else:
            cents[inside] = -350.0
    return cents, level
