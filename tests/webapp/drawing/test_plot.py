"""Scales have round steps, few enough of them, and never lie about a place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.drawing.plot import Axis, round_step, round_ticks


@given(st.floats(0.01, 100_000), st.integers(2, 9))
def test_a_step_is_one_two_or_five_times_a_power_of_ten_and_few_fit(
    span: float, at_most: int
) -> None:
    step = round_step(span, at_most=at_most)

    assert f"{step:.0e}"[0] in "125"
    assert span / step <= at_most


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (-20, 10, (-20, -10, 0, 10)),
        (0, 2.3, (0, 0.5, 1, 1.5, 2)),
        (-0.5, 0.5, (-0.4, -0.2, 0, 0.2, 0.4)),
    ],
)
def test_ticks_are_round_numbers_inside_the_range(
    low: float, high: float, ticks: tuple[float, ...]
) -> None:
    assert round_ticks(low, high, at_most=5) == pytest.approx(ticks)


def test_an_axis_may_run_upwards() -> None:
    axis = Axis(low=-10, high=10, start=160, end=40)

    assert [axis.place(value) for value in (-10, 0, 10)] == [160, 100, 40]
