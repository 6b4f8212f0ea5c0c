import numpy as np
import pytest

from analysis.acoustics.root_finding import find_rising_zeros
from analysis.acoustics.transfer_matrices import Real


@pytest.mark.parametrize("bend", [0.3, 1.0, 3.0])
def test_zeros_of_many_functions_are_found_at_once(bend: float) -> None:
    wanted = np.linspace(0.05, 0.95, 19)

    def evaluate(x: Real) -> Real:
        return np.asarray(np.expm1(bend * (x - wanted)))

    found = find_rising_zeros(evaluate, np.zeros(19), np.ones(19))
    assert found == pytest.approx(wanted, abs=1e-5)


def test_a_zero_at_an_end_is_found() -> None:
    found = find_rising_zeros(lambda x: x - np.array([1.0]), np.zeros(1), np.ones(1))
    assert found == pytest.approx([1.0])
