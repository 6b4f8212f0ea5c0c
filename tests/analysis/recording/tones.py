"""Clarinet-like tones whose pitch is known by formula, for tests and benchmarks.

A `Tone` is a sum of partials k = 1, 2, ... with phases k * phi(t), where phi is the exact integral
of f0(t). The pitch in cents against `f0_hz` is a sum of terms with closed integrals in time:
drift (a line), vibrato and wander (sinusoids) and the onset scoop (an exponential). The phase is
integrated from the pitch on the sample grid by the trapezoid rule, whose error at these rates is
far below 1e-6 cents. All randomness comes from `seed`. Nothing here imitates one real instrument:
strong odd and weak even partials falling by about 9 dB an octave are common knowledge of the
clarinet's spectrum (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Tone:
    """One synthetic take; levels in dB, pitch terms in cents, times in seconds."""

    f0_hz: float
    duration_s: float = 1.5
    sample_rate_hz: float = 44_100.0
    snr_db: float = 60.0
    is_noise_pink: bool = False
    drift_cents: float = 0.0  # from -drift to +drift over the tone
    vibrato_cents: float = 0.0
    vibrato_hz: float = 5.3
    wander_cents: float = 0.0  # standard deviation of the slow random part
    scoop_cents: float = 0.0  # how far below pitch the onset starts
    amplitude_jitter: float = 0.0
    partial_db: Mapping[int, float] = field(default_factory=dict)  # overrides of the rolloff
    even_db: float = -25.0
    silence_s: float = 0.1  # before and after
    rms: float = 0.1
    reverb_s: float = 0.0
    seed: int = 1

    def pitch_cents(self, time_s: Samples) -> Samples:
        """The true pitch against f0_hz at times counted from the start of the clip."""
        t = time_s - self.silence_s
        cents = self.drift_cents * (2 * t / self.duration_s - 1)
        cents = cents - self.scoop_cents * np.exp(-np.maximum(t, 0) / 0.04)
        rng = np.random.default_rng([self.seed, 1])
        vibrato_phase = rng.uniform(0, 2 * np.pi)
        if self.vibrato_cents:
            turns = 2 * np.pi * self.vibrato_hz * t + vibrato_phase
            cents = cents + self.vibrato_cents * np.sin(turns)
        if not self.wander_cents:
            return cents
        # eight slow sinusoids, 0.2 to 3 Hz, falling with frequency: a player's wander
        rates = np.geomspace(0.2, 3.0, 8) * rng.uniform(0.9, 1.1, 8)
        sizes = 1 / np.sqrt(rates)
        sizes *= self.wander_cents * np.sqrt(2 / np.sum(sizes**2))
        for rate, size, phase in zip(rates, sizes, rng.uniform(0, 2 * np.pi, 8), strict=True):
            cents = cents + size * np.sin(2 * np.pi * rate * t + phase)
        return cents

    def true_median_hz(self, from_s: float, to_s: float) -> float:
        """The median of the true pitch over a span, on a 0.1 ms grid."""
        grid = np.arange(from_s, to_s, 1e-4)
        return float(self.f0_hz * 2 ** (np.median(self.pitch_cents(grid)) / 1200))

    def partial_levels_db(self) -> Samples:
        """Level of each partial below 0.45 of the sample rate (at most 60)."""
        count = max(1, min(60, int(0.45 * self.sample_rate_hz / (1.02 * self.f0_hz))))
        numbers = np.arange(1, count + 1)
        levels = -9.0 * np.log2(numbers) + np.where(numbers % 2, 0.0, self.even_db)
        levels = np.where(numbers % 2, levels, levels + np.minimum(numbers, 8) * 2.0)
        for number, level in self.partial_db.items():
            if number <= count:
                levels[number - 1] = level
        return levels

    def render(self) -> Samples:
        """The clip: silence, tone with soft ends, silence, and noise over all of it."""
        rate = self.sample_rate_hz
        count = round((self.duration_s + 2 * self.silence_s) * rate)
        time_s = np.arange(count) / rate
        f0_hz = self.f0_hz * 2 ** (self.pitch_cents(time_s) / 1200)
        turns = np.concatenate(([0.0], np.cumsum(0.5 * (f0_hz[1:] + f0_hz[:-1])))) / rate
        rng = np.random.default_rng([self.seed, 2])
        tone = _sum_partials(turns, 10 ** (self.partial_levels_db() / 20), rng)
        tone *= self._envelope(time_s, rng)
        if self.reverb_s:
            tone = _reverberate(tone, rate, self.reverb_s, rng)
        is_on = (time_s > self.silence_s) & (time_s < self.silence_s + self.duration_s)
        tone *= self.rms / np.sqrt(np.mean(tone[is_on] ** 2))
        noise = make_noise(count, rng, is_pink=self.is_noise_pink)
        clip: Samples = tone + noise * self.rms * 10 ** (-self.snr_db / 20)
        return clip

    def _envelope(self, time_s: Samples, rng: np.random.Generator) -> Samples:
        ends = np.minimum(time_s - self.silence_s, self.silence_s + self.duration_s - time_s)
        envelope = np.clip(ends / 0.03, 0, 1)
        if not self.amplitude_jitter:
            return envelope
        knots = np.arange(0, time_s[-1] + 0.02, 0.01)
        jitter = np.interp(time_s, knots, rng.standard_normal(len(knots)))
        return np.asarray(envelope * (1 + self.amplitude_jitter * jitter))


def make_noise(count: int, rng: np.random.Generator, *, is_pink: bool = False) -> Samples:
    """Noise of unit RMS: white, or with 3 dB less per octave (above 20 Hz at 44.1 kHz)."""
    white = rng.standard_normal(count)
    if not is_pink:
        return white
    bins = np.fft.rfft(white)
    bins /= np.sqrt(np.maximum(np.arange(len(bins)), count / 2200))
    pink = np.fft.irfft(bins, count)
    return np.asarray(pink / np.sqrt(np.mean(pink**2)))


def _sum_partials(turns: Samples, amplitudes: Samples, rng: np.random.Generator) -> Samples:
    base = np.exp(2j * np.pi * turns)
    power = np.ones_like(base)
    total = np.zeros(len(turns))
    for amplitude in amplitudes:
        power *= base
        phase = 2 * np.pi * rng.uniform()
        total += amplitude * np.cos(phase) * power.real - amplitude * np.sin(phase) * power.imag
    return total


def _reverberate(tone: Samples, rate: float, reverb_s: float, rng: np.random.Generator) -> Samples:
    """A decaying noise tail (60 dB in reverb_s) 12 dB under the direct sound."""
    count = int(reverb_s * rate)
    tail = rng.standard_normal(count) * 10 ** (-3 * np.arange(count) / count)
    tail *= 10 ** (-12 / 20) / np.sqrt(np.sum(tail**2))
    size = len(tone) + count
    wet = np.fft.irfft(np.fft.rfft(tone, size) * np.fft.rfft(tail, size), size)
    return np.asarray(tone + wet[: len(tone)])
