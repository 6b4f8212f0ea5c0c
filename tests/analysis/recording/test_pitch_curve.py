"""The pitch curve of whole takes: its median against the truth, and its stated uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from analysis.recording import measure_take
from tests.analysis.recording.tones import Tone

PLAYED = Tone(440.0, drift_cents=5.0, wander_cents=0.8, amplitude_jitter=0.015, scoop_cents=30.0)
BANDS_HZ = ((58.0, 150.0), (150.0, 400.0), (400.0, 900.0), (900.0, 1900.0))


def _draw_tones(tone: Tone, count: int, seed: int) -> Iterator[Tone]:
    rng = np.random.default_rng(seed)
    for at in range(count):
        low, high = BANDS_HZ[at % len(BANDS_HZ)]
        yield replace(
            tone,
            f0_hz=float(low * (high / low) ** rng.uniform()),
            duration_s=float(rng.choice([0.5, 1.0, 2.5])),
            drift_cents=tone.drift_cents * float(rng.choice([-1, 1])),
            seed=5_000 + 100 * seed + at,
        )


def _measure_errors(tones: Iterator[Tone]) -> tuple[np.ndarray, np.ndarray]:
    """Errors in cents, and in stated standard deviations."""
    errors, stated = [], []
    for tone in tones:
        take = measure_take(tone.render(), tone.sample_rate_hz)
        assert take.f0_hz is not None and take.f0_uncertainty_cents is not None
        assert take.steady_from_s is not None and take.steady_to_s is not None
        truth_hz = tone.true_median_hz(take.steady_from_s, take.steady_to_s)
        errors.append(abs(1200 * np.log2(take.f0_hz / truth_hz)))
        stated.append(take.f0_uncertainty_cents)
    return np.array(errors), np.array(errors) / np.array(stated)


# 95th percentiles: twice and more of what the benchmark saw (tests/benchmarks/RESULTS.md)
@pytest.mark.parametrize(
    ("snr_db", "limit_cents"), [(60.0, 0.01), (40.0, 0.05), (20.0, 0.2), (10.0, 0.5)]
)
@pytest.mark.parametrize("count", [4, pytest.param(24, marks=pytest.mark.long_run)])
def test_played_notes_are_known_as_well_as_their_noise_allows(
    snr_db: float, limit_cents: float, count: int
) -> None:
    errors, _ = _measure_errors(_draw_tones(replace(PLAYED, snr_db=snr_db), count, seed=1))
    assert np.percentile(errors, 95) < limit_cents


@pytest.mark.parametrize(
    "tone",
    [
        replace(PLAYED, snr_db=40.0),
        replace(PLAYED, snr_db=15.0),
        replace(PLAYED, snr_db=25.0, is_noise_pink=True),
        replace(PLAYED, snr_db=30.0, vibrato_cents=20.0),
        replace(PLAYED, snr_db=40.0, reverb_s=0.8),
    ],
    ids=["40 dB", "15 dB", "25 dB pink", "vibrato", "reverberation"],
)
# 95% of 48 is 45.8; fewer than 41 would come once in 400 times from an honest 95%; of 6 it is
# 5.7, and fewer than 4 would come once in 450 times
@pytest.mark.parametrize(
    ("count", "least", "most_far_off"),
    [(6, 4, 1), pytest.param(48, 41, 2, marks=pytest.mark.long_run)],
)
def test_the_truth_lies_within_two_stated_deviations_as_often_as_it_should(
    tone: Tone, count: int, least: int, most_far_off: int
) -> None:
    _, deviations = _measure_errors(_draw_tones(tone, count, seed=2))
    assert np.count_nonzero(deviations <= 2) >= least
    assert np.count_nonzero(deviations > 4) <= most_far_off


@pytest.mark.parametrize("count", [8, pytest.param(48, marks=pytest.mark.long_run)])
def test_the_stated_uncertainty_is_not_wide_of_the_mark(count: int) -> None:
    _, deviations = _measure_errors(_draw_tones(replace(PLAYED, snr_db=20.0), count, seed=3))
    # half of all errors are less than 0.67 standard deviations of a normal one
    assert 0.3 < np.median(deviations) < 1.0


def test_a_room_that_rings_on_is_no_part_of_the_note() -> None:
    tone = replace(PLAYED, f0_hz=330.0, duration_s=0.8, snr_db=50.0, reverb_s=1.2)
    take = measure_take(tone.render(), tone.sample_rate_hz)
    assert take.steady_to_s is not None
    assert take.steady_to_s < tone.silence_s + tone.duration_s


def test_the_steady_part_starts_when_the_pitch_has_settled() -> None:
    tone = replace(PLAYED, duration_s=1.5, snr_db=50.0)
    take = measure_take(tone.render(), tone.sample_rate_hz)
    assert take.steady_from_s == pytest.approx(tone.silence_s + 0.15, abs=0.03)


def test_a_slow_fade_to_a_tenth_is_measured_to_its_end() -> None:
    tone = replace(PLAYED, duration_s=3.0, snr_db=60.0, scoop_cents=0.0)
    samples = tone.render()
    times_s = np.arange(len(samples)) / tone.sample_rate_hz
    fade = 10 ** (-0.3 * np.clip(times_s - 0.1, 0, 3.0))  # 18 dB in 3 s
    take = measure_take(samples * fade, tone.sample_rate_hz)
    assert take.steady_to_s is not None and take.steady_to_s > 2.9
