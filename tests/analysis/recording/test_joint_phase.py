"""What partials say together, on phasors made by formula."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.joint_phase import combine_phases, find_disagreement, widen_for_few

NUMBERS = np.arange(1, 7)
AMPLITUDES = np.array([1.0, 0.1, 0.4, 0.08, 0.2, 0.05])
NOISE = 0.01  # power in one window


def _make_phasors(turns: np.ndarray, seed: int = 1, astray: np.ndarray | float = 0.0) -> np.ndarray:
    """Partials that follow `turns` (m,), each with its own lag and the noise of its window."""
    rng = np.random.default_rng(seed)
    lags = rng.uniform(0, 2 * np.pi, len(NUMBERS))
    still = AMPLITUDES * np.exp(1j * (np.outer(turns, NUMBERS) + lags + astray))
    fine = rng.standard_normal((2, len(turns) + 1, len(NUMBERS)))
    noise = fine[:, 1:] + (3 - 2 * np.sqrt(2)) * fine[:, :-1]
    noise *= np.sqrt(NOISE / 2 / (1 + (3 - 2 * np.sqrt(2)) ** 2))
    return np.asarray(still + noise[0] + 1j * noise[1])


SNR = AMPLITUDES**2 / NOISE


def test_a_common_phase_is_found_with_the_error_that_theory_gives() -> None:
    turns = 0.02 * np.sin(np.arange(300) / 40)
    errors, stated = [], []
    for seed in range(20):
        joint = combine_phases(_make_phasors(turns, seed), SNR)
        errors.append(np.mean((joint.radians - turns + turns.mean())[100:200]))
        stated.append(np.sqrt(joint.variance / 100))
    # 1 / sum k^2 2 S, times the overlap of 4/3
    bound = np.sqrt(4 / 3 / np.sum(NUMBERS**2 * 2 * SNR) / 100)
    assert np.median(stated) == pytest.approx(bound, rel=0.2)
    assert np.std(errors) == pytest.approx(bound, rel=0.5)


def test_a_weak_partial_adds_and_one_that_is_not_there_does_no_harm() -> None:
    turns = 0.02 * np.sin(np.arange(300) / 40)
    phasors = _make_phasors(turns)
    phasors[:, 5] = _make_phasors(turns, seed=9)[:, 5] - _make_phasors(turns, seed=9)[:, 5].mean()
    snr = SNR.copy()
    snr[5] = 1e-3
    joint = combine_phases(phasors, snr)
    assert joint.shares[5] < 0.01
    assert np.std(joint.radians - turns) < 0.06  # as without it


def test_a_partial_that_jumps_against_the_others_loses_its_share() -> None:
    turns = np.zeros(300)
    astray = np.zeros((300, 6))
    astray[:, 2] = 0.5 * np.sin(2.5 * np.arange(300))
    calm = combine_phases(_make_phasors(turns), SNR)
    disturbed = combine_phases(_make_phasors(turns, astray=astray), SNR)
    assert disturbed.shares[2] < 0.3 * calm.shares[2]
    assert disturbed.variance > calm.variance


def test_one_partial_alone_is_believed_with_its_own_noise() -> None:
    joint = combine_phases(_make_phasors(np.zeros(200))[:, :1], SNR[:1])
    assert joint.shares.tolist() == [1.0]
    assert joint.variance == pytest.approx(4 / 3 / (2 * SNR[0]), rel=0.05)


def test_partials_that_drift_apart_are_seen_to_and_those_that_do_not_are_not() -> None:
    influence = np.linspace(-1, 1, 200)
    influence /= np.abs(influence).sum()
    rng = np.random.default_rng(3)
    found, expected, quiet = [], [], []
    for seed in range(30):
        rates = 0.0005 * rng.standard_normal(6)
        astray = np.outer(np.arange(200), rates * NUMBERS)
        joint = combine_phases(_make_phasors(np.zeros(200), seed, astray), SNR)
        found.append(find_disagreement(joint, influence))
        expected.append((influence @ np.arange(200) * 0.0005) ** 2)
        quiet.append(
            find_disagreement(combine_phases(_make_phasors(np.zeros(200), seed), SNR), influence)
        )
    assert np.mean(found) == pytest.approx(np.mean(expected), rel=0.4)
    assert np.mean(quiet) < 0.05 * np.mean(expected)


@pytest.mark.parametrize(("partials", "factor"), [(25, 1.06), (5, 1.41), (4, 1.65)])
def test_few_partials_widen_as_student_says(partials: int, factor: float) -> None:
    # quantiles of Student's t at the two-sided level of two standard deviations (95.45%), halved:
    # 2.11/2, 2.87/2, 3.31/2 for 24, 4 and 3 degrees of freedom (tables, from memory)
    assert widen_for_few(np.full(partials, 1 / partials)) == pytest.approx(factor, abs=0.07)
