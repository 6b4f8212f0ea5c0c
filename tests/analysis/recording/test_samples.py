"""Levels of raw samples, from closed formulas."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analysis.recording.samples import (
    find_loudest_rms,
    find_mean_power,
    is_clipped,
    is_readable,
)

TIME_S = np.arange(44_100) / 44_100


def test_the_rms_of_a_sine_is_its_amplitude_over_root_two() -> None:
    sine = 0.4 * np.sin(2 * np.pi * 1000 * TIME_S)
    assert find_loudest_rms(sine, 44_100) == pytest.approx(0.4 / np.sqrt(2), rel=1e-6)


def test_the_loudest_part_counts_and_an_offset_does_not() -> None:
    clip = 0.3 + np.where(TIME_S > 0.9, 0.1, 0.001) * np.sin(2 * np.pi * 1000 * TIME_S)
    assert find_loudest_rms(clip, 44_100) == pytest.approx(0.1 / np.sqrt(2), rel=1e-6)


@pytest.mark.parametrize("overshoot", [1.01, 1.1, 2.0])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_cut_at_either_side_is_seen(overshoot: float, sign: int) -> None:
    sine = overshoot * np.sin(2 * np.pi * 440.3 * TIME_S)
    assert is_clipped(sign * np.minimum(sine, 1.0))


@pytest.mark.parametrize("f0_hz", [50.3, 440.3, 2500.7])
def test_a_full_sine_is_not_cut(f0_hz: float) -> None:
    assert not is_clipped(np.sin(2 * np.pi * f0_hz * TIME_S))


def test_silence_is_not_cut() -> None:
    assert not is_clipped(np.zeros(1000))


def test_samples_in_a_file_are_judged_like_samples_in_memory(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    path = tmp_path / "samples"
    in_memory = np.clip(rng.normal(0, 0.3, 3_000_000), -0.5, 0.5).astype(np.float32)
    in_memory.tofile(path)
    in_file = np.asarray(np.memmap(path, dtype=np.float32, mode="r"))
    assert is_readable(in_file, 48_000) and is_clipped(in_file)
    assert find_loudest_rms(in_file, 48_000) == find_loudest_rms(in_memory, 48_000)
    assert find_mean_power(in_file) == pytest.approx(np.mean(in_memory.astype(float) ** 2))
    assert np.array_equal(in_file, in_memory)  # letting go of pages loses nothing


def test_a_nan_anywhere_makes_samples_unreadable() -> None:
    samples = np.zeros(3_000_000, dtype=np.float32)
    samples[2_500_000] = np.nan
    assert not is_readable(samples, 48_000)
