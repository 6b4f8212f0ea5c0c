"""The tuning A."""

import math

import pytest

from analysis.pitch import Tuning, TuningOutOfRange


# Modern and historical tunings: common practice, from memory.
@pytest.mark.parametrize("a4_hz", [390.0, 392.0, 415.0, 430.0, 440.0, 442.0, 443.0, 466.0, 470.0])
def test_tunings_in_use_are_accepted(a4_hz: float) -> None:
    assert Tuning(a4_hz).a4_hz == a4_hz


@pytest.mark.parametrize("a4_hz", [0.0, -440.0, 389.99, 470.01, 880.0, math.nan, math.inf])
def test_a_tuning_no_ensemble_uses_is_refused(a4_hz: float) -> None:
    with pytest.raises(TuningOutOfRange, match="outside 390 to 470 Hz"):
        Tuning(a4_hz)
