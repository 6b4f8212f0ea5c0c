"""Drift and vibrato of curves given by formula."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.recording.vibrato import find_motion

TIME_S = np.arange(230) * 0.01


@pytest.mark.parametrize("phase", [0.0, 1.0, 2.5])
@pytest.mark.parametrize("rate_hz", [3.2, 5.55, 8.7])
def test_a_line_with_a_wave_gives_both_back(rate_hz: float, phase: float) -> None:
    cents = 4.0 + 3.0 * TIME_S + 12.0 * np.sin(2 * np.pi * rate_hz * TIME_S + phase)
    motion = find_motion(TIME_S, cents)
    assert motion.vibrato is not None
    assert motion.drift_cents_per_s == pytest.approx(3.0, abs=0.01)
    assert motion.vibrato.rate_hz == pytest.approx(rate_hz, abs=0.01)
    assert motion.vibrato.extent_cents == pytest.approx(12.0, abs=0.02)
    assert motion.slow_cents == pytest.approx(4.0 + 3.0 * TIME_S, abs=0.2)


@pytest.mark.parametrize(
    "cents",
    [
        1.5 * np.sin(2 * np.pi * 5 * TIME_S),  # too small
        20.0 * np.sin(2 * np.pi * 1.2 * TIME_S),  # too slow
        np.random.default_rng(3).normal(0, 20, len(TIME_S)),  # no wave
        np.zeros(len(TIME_S)),
    ],
)
def test_what_is_no_vibrato_is_not_called_one(cents: np.ndarray) -> None:
    assert find_motion(TIME_S, cents).vibrato is None


def test_a_span_of_less_than_two_cycles_shows_no_vibrato() -> None:
    short = TIME_S[:20]
    assert find_motion(short, 10 * np.sin(2 * np.pi * 6 * short)).vibrato is None
