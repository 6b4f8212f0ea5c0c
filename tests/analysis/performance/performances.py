"""Made performances of made passages, of which every note is known.

A passage is a random line of quarter tones, steps and leaps within a clarinet's range, in the note
values of a study. A performance has what players do: each note lies a little otherwise in context,
lengths are uneven, notes are slurred or tongued, some are wrong, left out or played again after a
stop, and a room is heard. The tone is odd partials with weaker even ones, more of these in the
upper register, an attack from below with breath in it, and a short slide or a dip between slurred
notes. `Sounding` changes all that, for performances unlike those that limits were set on. How
players do these things is common knowledge (from memory); the sizes are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.performance import ExpectedNote, ExpectedPassage

Samples = NDArray[np.float64]

RATE = 44_100
VALUES = (0.25, 0.5, 0.5, 1.0, 1.0, 2.0)
STEPS = (50, 100, 150, 200, 300, 500, 700)
LOW, HIGH = 5000, 8200


@dataclass(frozen=True)
class Sounding:
    """How a performance sounds; levels in dB under the tone, cents, seconds."""

    noise_db: float = 42.0
    vibrato_cents: float = 3.0
    vibrato_hz: float = 5.0
    reverb_s: float = 0.0
    slide_s: float = 0.012
    scoop_cents: float = 25.0
    even_db: float = -18.0
    fall_db: float = 8.0  # of the partials, an octave
    tongue_s: tuple[float, float] = (0.025, 0.05)
    tongue_depth: float = 0.02
    swell_db: float = 0.0


@dataclass(frozen=True)
class Playing:
    """Habits of the player; shares of the notes."""

    wrong: float = 0.05
    left_out: float = 0.0
    stops: float = 0.02  # a stop, and again from the start of the bar
    slurred: float = 0.5
    uneven: float = 0.05
    context_cents: float = 12.0
    common_cents: float = 8.0
    tempo_share: float = 1.0


@dataclass(frozen=True)
class Sounded:
    """A note that sounded: which of the passage, where, how high; `is_wrong`: as another note."""

    place: int
    from_s: float
    to_s: float
    height_cents: float
    is_wrong: bool
    is_slurred: bool

    @property
    def length_s(self) -> float:
        return self.to_s - self.from_s


@dataclass(frozen=True)
class Performance:
    """A recording with what it holds."""

    samples: Samples
    notes: list[Sounded]


def make_passage(seed: int, *, count: int = 32, tempo: float = 80.0) -> ExpectedPassage:
    """A line of `count` notes in bars of four quarters."""
    rng = np.random.default_rng([seed, 31])
    height, onset, notes = float(rng.integers(55, 75) * 100), 0.0, []
    for _ in range(count):
        length = float(rng.choice(VALUES))
        notes.append(ExpectedNote(height, onset, length, begins_bar=onset % 4 < 1e-9))
        onset += length
        if rng.uniform() < 0.1:
            continue  # the same note again
        step = float(rng.choice(STEPS)) * rng.choice((-1, 1))
        height = height + step if LOW <= height + step <= HIGH else height - step
    return ExpectedPassage(tuple(notes), 60.0 / tempo)


def perform(
    passage: ExpectedPassage,
    seed: int,
    *,
    playing: Playing | None = None,
    sounding: Sounding | None = None,
) -> Performance:
    """Play a passage."""
    playing, sounding = playing or Playing(), sounding or Sounding()
    rng = np.random.default_rng([seed, 32])
    return _render(_decide(passage, playing, rng), sounding, rng)


def _decide(passage: ExpectedPassage, playing: Playing, rng: np.random.Generator) -> list[Sounded]:
    steps_s = passage.find_steps_s()
    context = rng.normal(0, playing.context_cents, len(steps_s)) + playing.common_cents
    sounded: list[Sounded] = []
    at, now_s, bar = 0, 0.5, 0
    stops_left = 3
    while at < len(steps_s):
        note = passage.notes[at]
        bar = at if note.begins_bar else bar
        length_s = steps_s[at] * playing.tempo_share * max(0.6, rng.normal(1, playing.uneven))
        assert note.height_cents is not None
        height, is_wrong = note.height_cents + context[at], rng.uniform() < playing.wrong
        if is_wrong:
            height += float(rng.choice((-700, -300, -200, -100, 100, 200, 300, 1900)))
        before = passage.notes[at - 1].height_cents if at else None
        is_slurred = (
            bool(sounded) and rng.uniform() < playing.slurred and before != note.height_cents
        )
        if (
            sounded
            and abs(sounded[-1].height_cents - height) < 35
            and sounded[-1].to_s > now_s - 0.1
        ):
            is_slurred = False
        if not (rng.uniform() < playing.left_out and at):
            sounded.append(Sounded(at, now_s, now_s + length_s, height, bool(is_wrong), is_slurred))
            now_s += length_s
        at += 1
        if stops_left and rng.uniform() < playing.stops:
            at, stops_left = bar, stops_left - 1
            now_s += rng.uniform(0.5, 1.2)
    return sounded


def _render(notes: list[Sounded], sounding: Sounding, rng: np.random.Generator) -> Performance:
    count = round((notes[-1].to_s + 0.5) * RATE)
    pitch, level = np.full(count, notes[0].height_cents), np.zeros(count)
    breath = np.zeros(count)
    for at, note in enumerate(notes):
        first, last = round(note.from_s * RATE), round(note.to_s * RATE)
        pitch[first:] = note.height_cents
        level[first:last] = 10 ** (rng.normal(0, 1.2) / 20)
        goes_on = at + 1 < len(notes) and notes[at + 1].is_slurred
        if goes_on:
            dip = round(0.01 * RATE)
            level[max(first, last - dip) : last] *= 10 ** (-rng.uniform(0, 3.0) / 20)
        else:
            gap = round(rng.uniform(*sounding.tongue_s) * RATE)
            level[max(first, last - gap) : last] *= sounding.tongue_depth
        if not note.is_slurred:
            time_s = np.arange(last - first) / RATE
            pitch[first:last] -= sounding.scoop_cents * rng.uniform() * np.exp(-time_s / 0.015)
            breath[first : first + round(0.015 * RATE)] = 0.03
        swell = sounding.swell_db * np.sin(np.pi * np.linspace(0, 1, last - first))
        level[first:last] *= 10 ** ((swell - sounding.swell_db) / 20)
    time_s = np.arange(count) / RATE
    pitch = _smooth(pitch, sounding.slide_s)
    pitch += sounding.vibrato_cents * np.sin(2 * np.pi * sounding.vibrato_hz * time_s)
    f0_hz = 440.0 * 2 ** ((pitch - 6900) / 1200)
    turns = np.cumsum(f0_hz) / RATE
    is_high = _smooth((pitch > 6700).astype(float), 0.01)
    sound = np.zeros(count)
    for k in range(1, 13):
        fall_db = -sounding.fall_db * np.log2(k)
        if k % 2 == 0:
            fall_db = fall_db + sounding.even_db * (1 - 0.7 * is_high)
        is_below = k * f0_hz < 0.45 * RATE
        sound += is_below * 10 ** (fall_db / 20) * np.sin(2 * np.pi * k * turns + rng.uniform(0, 6))
    sound = 0.1 * sound * _smooth(level, 0.012)
    if sounding.reverb_s:
        sound = _reverberate(sound, sounding.reverb_s, rng)
    noise = 0.07 * 10 ** (-sounding.noise_db / 20) + _smooth(breath, 0.005) * 0.1
    return Performance(
        sound + noise * rng.standard_normal(count), [_hear(each, pitch) for each in notes]
    )


def _hear(note: Sounded, pitch: Samples) -> Sounded:
    """The note with the pitch that truly sounds in its middle, vibrato and all."""
    first, last = round((note.from_s + 0.02) * RATE), round((note.to_s - 0.03) * RATE)
    return replace(note, height_cents=float(np.median(pitch[first:last])))


def _reverberate(sound: Samples, seconds: float, rng: np.random.Generator) -> Samples:
    """A tail that falls by 60 dB, 12 dB under the direct sound."""
    count = round(seconds * RATE)
    tail = rng.standard_normal(count) * 10 ** (-3 * np.arange(count) / count)
    tail *= 10 ** (-12 / 20) / np.sqrt(np.sum(tail**2))
    size = len(sound) + count
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)
    return np.asarray(sound + wet[: len(sound)])


def _smooth(values: Samples, seconds: float) -> Samples:
    """A moving mean, the ends held."""
    size = round(seconds * RATE) | 1
    padded = np.pad(values, size // 2, mode="edge")
    total = np.concatenate(([0.0], np.cumsum(padded)))
    return np.asarray((total[size:] - total[:-size]) / size)
