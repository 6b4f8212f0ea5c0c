"""Smoothing of phases given by formula, in the noise of half-overlapping windows."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.whittaker import (
    STRONGEST,
    Smoothing,
    WhittakerSmoother,
    _find_differences_size,
    find_smoothing,
)

PLACES = np.arange(200)
LONG = np.arange(60_000)


def _make_noise(count: int, variance: float, seed: int) -> np.ndarray:
    """Noise of Hann windows of two hops, one hop apart: each sees the end of the one before."""
    fine = np.random.default_rng(seed).standard_normal((count + 1) * 64)
    window = np.hanning(129)[:-1]
    seen = np.array([window @ fine[at * 64 : at * 64 + 128] for at in range(count)])
    # as long waves see it, such noise has the variance of its sum
    return np.asarray(seen * np.sqrt(variance / (64 * (2 * window.mean()) ** 2)))


def test_noise_of_half_overlapping_windows_correlates_by_a_sixth() -> None:
    # integral of cos^2 sin^2 over that of cos^4 for a Hann window shifted by half of its length
    window = np.hanning(4_097)[:-1]
    shifted = window[2_048:] @ window[:2_048]
    assert shifted / (window @ window) == pytest.approx(1 / 6, abs=1e-6)


def test_a_still_pitch_in_noise_becomes_one_straight_line() -> None:
    phase = 1.5 * PLACES + _make_noise(200, 25.0, seed=1)
    smooth = find_smoothing(phase, 25.0).fit(phase)
    # the least-squares slope of n phases with noise s has deviation s sqrt(12 / n^3)
    assert np.polyfit(PLACES, smooth, 1)[0] == pytest.approx(
        1.5, abs=4 * 5.0 * np.sqrt(12 / 200**3)
    )
    # not quite straight, since a player's pitch might wander a little
    assert np.ptp(np.diff(smooth)) < 0.02 * np.ptp(np.diff(phase))


def test_no_cubic_is_held_back_however_strong_the_smoothing() -> None:
    x = np.linspace(-1, 1, 200)
    cubic = (40 * x**3 - 7 * x**2 + 3 * x)[:, np.newaxis]
    for order in (2, 3, 4):
        assert WhittakerSmoother(200, order, 1e8).fit(cubic) == pytest.approx(cubic, abs=1e-6)


def test_a_wave_far_above_the_noise_is_kept() -> None:
    wave = 60 * np.sin(2 * np.pi * PLACES / 19)
    phase = wave + _make_noise(200, 1e-4, seed=2)
    assert np.abs(find_smoothing(phase, 1e-4).fit(phase) - wave).max() < 0.05


@pytest.mark.parametrize("order", [2, 3, 4])
def test_the_fit_solves_the_penalised_equations_as_they_stand(order: int) -> None:
    # noise with covariance A A', A a moving average; differences with variance 1 / smoothing:
    # the course is the generalised least-squares one, here by full matrices
    count, smoothing = 24, 3.0
    rng = np.random.default_rng(order)
    phase = np.cumsum(np.cumsum(rng.standard_normal(count)))
    moving = 3 - 2 * np.sqrt(2)
    average = np.eye(count, count + 1, 1) + moving * np.eye(count, count + 1)
    differences = np.diff(np.eye(count), order, axis=0)
    covariance = np.linalg.inv(average @ average.T)
    powers = np.vander(np.linspace(-1, 1, count), 4)
    penalty = smoothing * differences.T @ differences
    hat = np.linalg.inv(covariance + penalty) @ covariance
    # the cubic has no prior: least squares of what the hat leaves
    left = covariance @ (np.eye(count) - hat)
    free = np.linalg.lstsq(powers.T @ left @ powers, powers.T @ left @ phase, rcond=1e-9)[0]
    expected = hat @ (phase - powers @ free) + powers @ free
    fitted = WhittakerSmoother(count, order, smoothing).fit(phase[:, np.newaxis])[:, 0]
    assert fitted == pytest.approx(expected, abs=1e-6 * np.ptp(phase))


def test_the_likelihood_finds_the_smoothing_a_course_was_made_with() -> None:
    rng = np.random.default_rng(5)
    powers = []
    for seed in range(20):
        steps = rng.standard_normal(200) * 0.1  # variance 0.01 against noise of 1: 100 times
        phase = np.cumsum(np.cumsum(steps)) + _make_noise(200, 1.0, seed)
        likeliest = find_smoothing(phase, 1.0).likeliest
        powers.append(np.log10(likeliest.smoothing))
    # against the variance of the independent numbers, 0.73 of what long waves see
    assert np.median(powers) == pytest.approx(np.log10(100 * 0.728), abs=0.5)


def test_draws_scatter_as_the_truth_does_about_the_fit() -> None:
    inside = 0
    for seed in range(60):
        steps = np.random.default_rng([seed, 1]).standard_normal(120) * 0.05
        course = np.cumsum(np.cumsum(steps))
        phase = course + _make_noise(120, 1.0, seed)
        smoother = WhittakerSmoother(120, 2, 400 * 0.728)
        drawn = smoother.draw(phase, 1.0, np.random.default_rng(seed), 200)
        middle = slice(50, 70)
        slope = np.diff(course[middle]).mean()
        fitted = np.diff(smoother.fit(phase[:, np.newaxis])[middle, 0]).mean()
        spread = np.diff(drawn[middle], axis=0).mean(axis=0).std()
        inside += abs(fitted - slope) < 2 * spread
    assert 52 <= inside <= 60  # 95% of 60 is 57


@pytest.mark.parametrize("order", [2, 3, 4])
def test_the_size_of_differences_is_their_determinant(order: int) -> None:
    differences = np.diff(np.eye(40), order, axis=0)
    expected = np.linalg.slogdet(differences @ differences.T)[1]
    assert _find_differences_size(40, order) == pytest.approx(expected, abs=1e-6)


def test_another_noise_leaves_the_roughness_of_the_course() -> None:
    smoothing = Smoothing([(1.0, WhittakerSmoother(40, 3, 10.0))], variance=2.0)
    (_, other), *_ = smoothing.with_variance(8.0).smoothers
    assert (other.order, other.smoothing) == (3, 40.0)
    (_, strongest), *_ = smoothing.with_variance(1e30).smoothers
    assert strongest.smoothing == 10.0 ** STRONGEST[3]


def test_a_ten_minute_row_loses_no_digits() -> None:
    wave = 300 * np.sin(2 * np.pi * LONG / 700) + 1e-4 * LONG**1.5
    smooth = find_smoothing(wave, 1e-6).fit(wave)
    assert np.abs(np.diff(smooth - wave)).max() < 1e-3
