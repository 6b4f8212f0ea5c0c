"""Smoothing and the median of pitch curves given by formula."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.joining import JoinedPitch
from analysis.recording.smooth import smooth_pitch, upsample

HOPS = np.arange(200)


def _smooth_with_noise(cents: np.ndarray, phase_noise: float, seed: int = 1) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(0, phase_noise, len(cents) + 1)
    joined = JoinedPitch(440.0, cents + np.diff(noise), phase_noise**2, blur_hops=0.0)
    return np.asarray(smooth_pitch(joined).cents)


def test_a_still_pitch_in_noise_becomes_one_straight_line() -> None:
    smooth = _smooth_with_noise(np.full(200, 1.5), 5.0)
    # the least-squares slope of n phases with noise s has deviation s sqrt(12 / n^3)
    assert np.ptp(np.diff(smooth)) < 0.01
    assert abs(np.median(smooth) - 1.5) < 4 * 5.0 * np.sqrt(12 / 201**3)


def test_a_steady_drift_is_kept() -> None:
    smooth = _smooth_with_noise(0.05 * HOPS, 5.0)
    assert np.polyfit(HOPS, smooth, 1)[0] == pytest.approx(0.05, abs=0.01)


def test_a_wave_far_above_the_noise_is_kept() -> None:
    wave = 20 * np.sin(2 * np.pi * HOPS / 19)
    assert np.abs(_smooth_with_noise(wave, 0.01) - wave)[2:-2].max() < 0.2


def test_the_stated_uncertainty_covers_the_truth_of_a_still_pitch() -> None:
    inside = 0
    for seed in range(100):
        noise = np.random.default_rng(seed).normal(0, 2.0, 101)
        curve = smooth_pitch(JoinedPitch(440.0, np.diff(noise), 4.0, blur_hops=0.0))
        error = 1200 * np.log2(curve.find_median_hz() / 440.0)
        inside += abs(error) <= 2 * curve.find_uncertainty_cents()
    assert 89 <= inside <= 100


def test_cubics_are_upsampled_exactly_between_the_ends() -> None:
    cubic = (HOPS / 50.0) ** 3 - HOPS / 20.0
    fine = upsample(cubic)
    at = np.arange(len(fine)) / 8
    expected = (at / 50.0) ** 3 - at / 20.0
    assert fine[8:-8] == pytest.approx(expected[8:-8], abs=1e-9)
    assert fine[-1] == cubic[-1]


def test_a_ten_minute_curve_loses_no_digits() -> None:
    wave = 3 * np.sin(2 * np.pi * np.arange(60_000) / 700) + 1e-4 * np.arange(60_000)
    joined = JoinedPitch(440.0, wave, 1e-6, blur_hops=0.0)
    curve = smooth_pitch(joined)
    assert np.abs(curve.cents - wave)[2:-2].max() < 0.01
