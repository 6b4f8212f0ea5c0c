import numpy as np
import pytest

from analysis.acoustics.root_finding import Places, find_rising_zeros
from analysis.acoustics.transfer_matrices import Real


@pytest.mark.parametrize("bend", [0.3, 1.0, 3.0])
def test_zeros_of_many_functions_are_found_at_once(bend: float) -> None:
    wanted = np.linspace(0.05, 0.95, 19)

    def evaluate(x: Real) -> Real:
        return np.asarray(np.expm1(bend * (x - wanted)))

    ends = np.zeros(19), np.ones(19)
    values = evaluate(ends[0]), evaluate(ends[1])
    found = find_rising_zeros(lambda x, _: evaluate(x), ends, values)
    assert found == pytest.approx(wanted, abs=1e-5)


def test_a_zero_that_is_found_is_not_evaluated_again() -> None:
    wanted = np.array([0.2, 0.6, 0.9])
    asked: list[list[int]] = []

    def evaluate(x: Real, places: Places) -> Real:
        asked.append(places.tolist())
        bend = np.array([0.0, 0.0, 1.0])[places]
        return np.asarray((x - wanted[places]) * np.exp(bend * x))

    ends = np.zeros(3), np.ones(3)
    every = np.arange(3)
    values = evaluate(ends[0], every), evaluate(ends[1], every)
    asked.clear()
    found = find_rising_zeros(evaluate, ends, values, near=1e-6)
    assert found == pytest.approx(wanted, abs=1e-5)
    assert asked[:2] == [[0, 1, 2], [0, 1, 2]]
    assert asked[2] == [2]


def test_a_zero_at_an_end_is_found() -> None:
    ends = np.zeros(1), np.ones(1)
    found = find_rising_zeros(lambda x, _: x - 1.0, ends, (ends[0] - 1.0, ends[1] - 1.0))
    assert found == pytest.approx([1.0])
