"""A clarinet-like tone whose pitch is known: the sound of the demo's takes.

The tone is a sum of partials. Its pitch over time is `f0_hz` moved by a slow wander, a slight drift
and perhaps a vibrato, shifted so that the median of the held part is `f0_hz` exactly; the onset
comes a little from below. Below the cutoff of the open tone holes even partials are weak, above it
all partials fall: common knowledge of the clarinet's spectrum (Benade, Fundamentals of Musical
Acoustics, 1976; from memory). Breath and room noise lie under it. No real recording was used.

Conventions: samples are floats in -1 to 1; cents are 1200 log2 of a frequency ratio; all randomness
comes from `seed`.
"""

import io
import wave
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]

SAMPLE_RATE_HZ = 44_100
LEAD_S = 0.12
TAIL_S = 0.18
ATTACK_S = 0.07
RELEASE_S = 0.09
SCOOP_CENTS = 12.0
SCOOP_S = 0.025
WANDER_CENTS = 0.6
DRIFT_CENTS_PER_S = 0.8
FLICKER = 0.015
EVEN_DB = -24.0
TOP_HZ = 9_000.0
ROOM_RMS = 10 ** (-76 / 20)
UNPLUGGED_RMS = 10 ** (-92 / 20)


@dataclass(frozen=True, slots=True)
class Tone:
    """What a take is made of.

    `f0_hz` is the median pitch of the held part, `held_s` its length; `cutoff_hz` is the cutoff
    of the open holes, `edge_hz` the frequency above which the partials fall (higher is brighter),
    `rms` the level, `breath_db` the breath noise against the tone, `attack_s` how long it takes to
    come.
    """

    f0_hz: float
    held_s: float
    cutoff_hz: float
    edge_hz: float
    rms: float
    breath_db: float = -46.0
    attack_s: float = ATTACK_S
    vibrato_cents: float = 0.0
    vibrato_hz: float = 0.0
    seed: int = 0


def synthesise(tone: Tone) -> Samples:
    """Make the samples of a take: a breath of silence, the tone, a breath of silence."""
    rng = np.random.default_rng(tone.seed)
    count = round((LEAD_S + tone.held_s + TAIL_S) * SAMPLE_RATE_HZ)
    time_s = np.arange(count) / SAMPLE_RATE_HZ - LEAD_S
    f0_hz = tone.f0_hz * 2 ** (_pitch_cents(tone, time_s, rng) / 1200)
    cycles = np.cumsum(f0_hz) / SAMPLE_RATE_HZ
    envelope = _envelope(tone, time_s, rng)
    sound = _sum_partials(tone, cycles, envelope, rng)
    sound *= tone.rms / np.sqrt(np.mean(np.square(sound[envelope > 0.5])))
    breath = tone.rms * 10 ** (tone.breath_db / 20) * envelope
    return np.asarray(sound + (ROOM_RMS + breath) * rng.standard_normal(count))


def make_silence(duration_s: float, seed: int) -> Samples:
    """Make a take without a microphone: the recorder's own noise, below -80 dB."""
    count = round(duration_s * SAMPLE_RATE_HZ)
    return UNPLUGGED_RMS * np.random.default_rng(seed).standard_normal(count)


def encode_wav(samples: Samples) -> bytes:
    """Write samples as a 16-bit WAV file of one channel."""
    file = io.BytesIO()
    with wave.open(file, "wb") as clip:
        clip.setnchannels(1)
        clip.setsampwidth(2)
        clip.setframerate(SAMPLE_RATE_HZ)
        clip.writeframes((np.clip(samples, -1, 1) * 32767).round().astype("<i2").tobytes())
    return file.getvalue()


def _pitch_cents(tone: Tone, time_s: Samples, rng: np.random.Generator) -> Samples:
    """Return the pitch against `f0_hz`: median 0 over the held part, the onset from below."""
    cents = DRIFT_CENTS_PER_S * rng.choice((-1, 1)) * (time_s - tone.held_s / 2)
    cents = cents + tone.vibrato_cents * np.sin(2 * np.pi * tone.vibrato_hz * time_s)
    rates_hz = rng.uniform(0.4, 2.5, 5)
    for rate_hz, phase in zip(rates_hz, rng.uniform(0, 2 * np.pi, 5), strict=True):
        size_cents = WANDER_CENTS * np.sqrt(2 / len(rates_hz))
        cents = cents + size_cents * np.sin(2 * np.pi * rate_hz * time_s + phase)
    is_held = (time_s > tone.attack_s) & (time_s < tone.held_s - RELEASE_S)
    cents = cents - np.median(cents[is_held])
    return np.asarray(cents - SCOOP_CENTS * np.exp(-np.maximum(time_s, 0) / SCOOP_S))


def _envelope(tone: Tone, time_s: Samples, rng: np.random.Generator) -> Samples:
    """Return the loudness: soft ends, and a flicker of a few percent while the tone is held."""
    rise = np.clip(time_s / tone.attack_s, 0, 1)
    fall = np.clip((tone.held_s - time_s) / RELEASE_S, 0, 1)
    knots_s = np.arange(time_s[0], time_s[-1] + 0.1, 0.05)
    flicker = np.interp(time_s, knots_s, rng.standard_normal(len(knots_s)))
    return np.asarray(np.sin(np.pi / 2 * np.minimum(rise, fall)) ** 2 * (1 + FLICKER * flicker))


def _sum_partials(
    tone: Tone, cycles: Samples, envelope: Samples, rng: np.random.Generator
) -> Samples:
    """Add the partials; the higher ones start later and stop sooner, as they do on a reed."""
    total = np.zeros(len(cycles))
    for number, level in enumerate(_partial_levels(tone), start=1):
        phase = 2 * np.pi * (number * cycles + rng.uniform())
        total += level * envelope ** (0.7 + 0.3 * number**0.5) * np.sin(phase)
    return total


def _partial_levels(tone: Tone) -> Samples:
    """Return the amplitude of each partial up to `TOP_HZ`."""
    numbers = np.arange(1, max(2, int(TOP_HZ / tone.f0_hz)) + 1)
    freq_hz = numbers * tone.f0_hz
    even_db = EVEN_DB * np.clip(1 - freq_hz / tone.cutoff_hz, 0, 1)
    even = np.where(numbers % 2 == 0, 10 ** (even_db / 20), 1.0)
    return np.asarray(even / (1 + (freq_hz / tone.edge_hz) ** 2) / numbers**0.3)
