"""Brightness from its formula, sum k A_k / sum A_k."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording.colour import find_brightness

AMPLITUDES = st.lists(st.floats(1e-6, 1e3), min_size=1, max_size=40).map(np.array)


def test_one_partial_has_its_number_for_brightness() -> None:
    assert find_brightness(np.array([0.0, 0.0, 0.5])) == 3.0


def test_a_sawtooth_is_as_bright_as_its_sum_says() -> None:
    # A_k = 1 / k: n / H_n, H_10 = 7381 / 2520
    assert find_brightness(1 / np.arange(1, 11)) == pytest.approx(10 * 2520 / 7381)


def test_no_partial_has_no_brightness() -> None:
    assert find_brightness(np.zeros(5)) is None


@given(AMPLITUDES, st.floats(1e-3, 1e3))
def test_brightness_does_not_depend_on_level(amplitudes: np.ndarray, gain: float) -> None:
    expected = find_brightness(amplitudes)
    assert find_brightness(gain * amplitudes) == pytest.approx(expected)


@given(AMPLITUDES)
def test_brightness_lies_among_the_partials(amplitudes: np.ndarray) -> None:
    brightness = find_brightness(amplitudes)
    assert brightness is not None
    assert 1 - 1e-9 <= brightness <= len(amplitudes) + 1e-9
