"""Pitch accuracy: ours beside other estimators and the Cramer-Rao bound, on the same clips.

Run by hand from the checkout: `python -m tests.benchmarks.bench_pitch [--clips N] [--fast]`.
Every clip is synthetic and seeded (`tests/analysis/recording/tones.py`); the truth is the median
of its known pitch over the span that ours calls steady, and every estimator is read over that
span. Peers are optional: what is not installed is left out. `--fast` leaves out pyin.

The bound is that of constant pitch in white noise, var(w0) >= 24 s^2 / (N (N^2 - 1) sum k^2 A_k^2)
(Kay, Estimation Theory, for one sinusoid; Christensen & Jakobsson, Multi-Pitch Estimation, for a
harmonic sum; from memory).
"""

from __future__ import annotations

import argparse
import importlib.util
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from analysis.recording import TakeMeasurement, measure_take
from tests.analysis.recording.tones import Tone

Samples = NDArray[np.float64]
# samples, rate, measurement of ours -> pitch in Hz
Peer = Callable[[Samples, float, TakeMeasurement], float]

BANDS_HZ = ((58.0, 150.0), (150.0, 400.0), (400.0, 900.0), (900.0, 1900.0))
DURATIONS_S = (0.5, 3.0, 10.0)
RATES_HZ = (44_100.0, 48_000.0)
GROSS_CENTS = 50.0
SLOW_PEERS = ("librosa pyin",)  # takes up to a second for a second: only the shorter clips
SLOW_PEER_MAX_S = 3.0
PLAYED = Tone(440.0, drift_cents=5.0, wander_cents=0.8, amplitude_jitter=0.015, scoop_cents=30.0)
STILL = Tone(440.0)
TRAPS: tuple[Mapping[int, float], ...] = (
    {3: 7.0},
    {1: 0.0, 2: 16.0},
    {1: -90.0},
    {1: -30.0, 3: 0.0},
    {2: 3.0, 4: 0.0},
)
CONDITIONS: Mapping[str, Tone] = {
    "60 dB": replace(PLAYED, snr_db=60.0),
    "40 dB": replace(PLAYED, snr_db=40.0),
    "20 dB": replace(PLAYED, snr_db=20.0),
    "10 dB": replace(PLAYED, snr_db=10.0),
    "20 dB pink": replace(PLAYED, snr_db=20.0, is_noise_pink=True),
    "10 dB pink": replace(PLAYED, snr_db=10.0, is_noise_pink=True),
    "traps 30 dB pink": replace(PLAYED, snr_db=30.0, is_noise_pink=True),
    "vibrato 20, 30 dB pink": replace(PLAYED, snr_db=30.0, is_noise_pink=True, vibrato_cents=20.0),
    "vibrato 8, 30 dB pink": replace(PLAYED, snr_db=30.0, is_noise_pink=True, vibrato_cents=8.0),
    "drift 25, 30 dB pink": replace(PLAYED, snr_db=30.0, is_noise_pink=True, drift_cents=25.0),
    "reverberation, 40 dB": replace(PLAYED, snr_db=40.0, reverb_s=0.8),
    "mixed": replace(
        PLAYED,
        snr_db=20.0,
        is_noise_pink=True,
        vibrato_cents=10.0,
        drift_cents=25.0,
        reverb_s=0.8,
    ),
    "still, 60 dB": replace(STILL, snr_db=60.0),
    "still, 40 dB": replace(STILL, snr_db=40.0),
    "still, 20 dB": replace(STILL, snr_db=20.0),
    "still, 10 dB": replace(STILL, snr_db=10.0),
}


def render(condition: str, tone: Tone) -> Samples:
    """The clip; a mixed one also hums, has lost its lows, and is clipped at two thirds of its peak.

    Hum 30 dB under the note at 50 Hz and twice and three times that; 12 dB an octave taken off
    below 120 Hz, as by a telephone.
    """
    samples = tone.render()
    if condition != "mixed":
        return samples
    time_s = np.arange(len(samples)) / tone.sample_rate_hz
    for order in (1, 2, 3):
        samples = samples + tone.rms * 10**-1.5 * np.sin(2 * np.pi * 50.0 * order * time_s)
    highpass = butter(2, 120.0, "highpass", fs=tone.sample_rate_hz, output="sos")
    samples = sosfilt(highpass, samples)
    ceiling = 0.67 * np.abs(samples).max()
    return np.asarray(np.clip(samples, -ceiling, ceiling))


@dataclass
class Row:
    """Errors in cents and cost of one estimator under one condition."""

    errors: list[float]
    seconds: float = 0.0
    sound_s: float = 0.0


def make_clips(condition: str, count: int) -> Iterator[Tone]:
    """Seeded clips over all bands and durations."""
    rng = np.random.default_rng([7, *condition.encode()])
    for at in range(count):
        low, high = BANDS_HZ[at % len(BANDS_HZ)]
        yield replace(
            CONDITIONS[condition],
            f0_hz=float(low * (high / low) ** rng.uniform()),
            duration_s=DURATIONS_S[(at // len(BANDS_HZ)) % len(DURATIONS_S)],
            sample_rate_hz=RATES_HZ[int(rng.integers(2))],
            drift_cents=CONDITIONS[condition].drift_cents * float(rng.choice([-1, 1])),
            partial_db=TRAPS[at % len(TRAPS)] if condition.startswith("traps") else {},
            seed=1000 + at,
        )


def find_bound_cents(tone: Tone, span_s: float) -> float:
    """One standard deviation of the best unbiased estimator of a constant pitch."""
    amplitudes = 10 ** (tone.partial_levels_db() / 20)
    amplitudes *= tone.rms / np.sqrt(0.5 * np.sum(amplitudes**2))
    numbers = np.arange(1, len(amplitudes) + 1)
    noise = (tone.rms * 10 ** (-tone.snr_db / 20)) ** 2
    size = span_s * tone.sample_rate_hz
    information = size * (size**2 - 1) * np.sum(numbers**2 * amplitudes**2)
    sigma = np.sqrt(24 * noise / information)
    return float(1200 / np.log(2) * sigma * tone.sample_rate_hz / (2 * np.pi * tone.f0_hz))


def _median_within(times_s: Samples, f0_hz: Samples, take: TakeMeasurement) -> float:
    assert take.steady_from_s is not None and take.steady_to_s is not None
    inside = (times_s >= take.steady_from_s) & (times_s <= take.steady_to_s) & (f0_hz > 0)
    return float(np.median(f0_hz[inside])) if inside.any() else float("nan")


def run_praat(samples: Samples, rate_hz: float, take: TakeMeasurement) -> float:
    """Praat's autocorrelation method through praat-parselmouth."""
    import parselmouth

    sound = parselmouth.Sound(samples, rate_hz)
    pitch = sound.to_pitch_ac(
        time_step=0.01, pitch_floor=45.0, pitch_ceiling=2500.0, very_accurate=True
    )
    return _median_within(pitch.xs(), pitch.selected_array["frequency"], take)


def run_yin(samples: Samples, rate_hz: float, take: TakeMeasurement) -> float:
    """librosa's yin with frames of 4096."""
    import librosa

    f0_hz = librosa.yin(samples, fmin=45.0, fmax=2500.0, sr=rate_hz, frame_length=4096)
    return _median_within(librosa.times_like(f0_hz, sr=rate_hz, hop_length=1024), f0_hz, take)


def run_pyin(samples: Samples, rate_hz: float, take: TakeMeasurement) -> float:
    """librosa's pyin with frames of 4096."""
    import librosa

    f0_hz, _, _ = librosa.pyin(samples, fmin=45.0, fmax=2500.0, sr=rate_hz, frame_length=4096)
    f0_hz = np.nan_to_num(f0_hz)
    return _median_within(librosa.times_like(f0_hz, sr=rate_hz, hop_length=1024), f0_hz, take)


def run_swift(samples: Samples, rate_hz: float, take: TakeMeasurement) -> float:
    """swift-f0, a neural estimator with its model in the wheel."""
    from swift_f0 import SwiftF0

    result = SwiftF0().detect(samples.astype(np.float32), int(rate_hz))
    return _median_within(np.asarray(result.timestamps), np.asarray(result.pitch_hz), take)


def find_peers(*, is_fast: bool) -> dict[str, Peer]:
    """The peers that are installed."""
    peers: dict[str, Peer] = {}
    if importlib.util.find_spec("parselmouth"):
        peers["Praat autocorrelation"] = run_praat
    if importlib.util.find_spec("librosa"):
        peers["librosa yin"] = run_yin
        if not is_fast:
            peers["librosa pyin"] = run_pyin
    if importlib.util.find_spec("swift_f0"):
        peers["swift-f0"] = run_swift
    return peers


def run_condition(condition: str, count: int, peers: Mapping[str, Peer]) -> dict[str, Row]:
    """All estimators over the clips of one condition."""
    rows = {name: Row([]) for name in ("ours", *peers, "bound")}
    inside = 0
    for tone in make_clips(condition, count):
        samples = render(condition, tone)
        started = time.perf_counter()
        take = measure_take(samples, tone.sample_rate_hz)
        _note_cost(rows["ours"], started, samples, tone)
        if take.f0_hz is None or take.steady_from_s is None or take.steady_to_s is None:
            print(f"  no measurement: {take.verdict} {tone}")
            rows["ours"].errors.append(float("nan"))
            continue
        assert take.f0_uncertainty_cents is not None
        truth_hz = tone.true_median_hz(take.steady_from_s, take.steady_to_s)
        error = abs(1200 * np.log2(take.f0_hz / truth_hz))
        rows["ours"].errors.append(error)
        inside += error <= 2 * take.f0_uncertainty_cents
        rows["bound"].errors.append(find_bound_cents(tone, take.steady_to_s - take.steady_from_s))
        for name, peer in peers.items():
            if name in SLOW_PEERS and tone.duration_s > SLOW_PEER_MAX_S:
                continue
            started = time.perf_counter()
            f0_hz = peer(samples, tone.sample_rate_hz, take)
            _note_cost(rows[name], started, samples, tone)
            rows[name].errors.append(abs(1200 * np.log2(f0_hz / truth_hz)))
    print_condition(condition, rows, inside / count)
    return rows


def _note_cost(row: Row, started: float, samples: Samples, tone: Tone) -> None:
    row.seconds += time.perf_counter() - started
    row.sound_s += len(samples) / tone.sample_rate_hz


def print_condition(condition: str, rows: Mapping[str, Row], coverage: float) -> None:
    """One block of the table."""
    ours_cost = rows["ours"].seconds / rows["ours"].sound_s
    for name, row in rows.items():
        errors = np.array(row.errors)
        fine = errors[np.isfinite(errors)]
        gross = np.count_nonzero(~(errors <= GROSS_CENTS))
        median, high = np.percentile(fine, (50, 95)) if fine.size else (np.nan, np.nan)
        cost = row.seconds / row.sound_s if row.sound_s else 0.0
        times = f"{1000 * cost:8.1f} {cost / ours_cost:7.1f}" if cost else " " * 16
        within = f"{100 * coverage:6.0f}%" if name == "ours" else ""
        print(
            f"| {condition:22} | {name:21} | {median:8.4f} | {high:8.4f}"
            f" | {gross:3d} of {len(errors):3d} | {times} | {within:7} |",
            flush=True,
        )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clips", type=int, default=24, help="clips per condition")
    parser.add_argument("--fast", action="store_true", help="leave out pyin")
    parser.add_argument("--alone", action="store_true", help="leave out all peers")
    parser.add_argument("--only", nargs="+", choices=CONDITIONS, help="some conditions")
    arguments = parser.parse_args()
    peers = {} if arguments.alone else find_peers(is_fast=arguments.fast)
    warm = Tone(440.0, 0.6)
    take = measure_take(warm.render(), warm.sample_rate_hz)
    for peer in peers.values():  # compilation and model loading are not what is compared
        peer(warm.render(), warm.sample_rate_hz, take)
    print(
        f"| {'condition':22} | {'estimator':21} | median c | 95% c    | gross      "
        "| ms per s, ratio  | in 2 s  |"
    )
    print("|---|---|---|---|---|---|---|")
    for condition in arguments.only or CONDITIONS:
        run_condition(condition, arguments.clips, peers)


if __name__ == "__main__":
    main()
