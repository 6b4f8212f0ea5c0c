"""Pooling of takes. Expected values are closed formulas of the stated model."""

from __future__ import annotations

import math
from statistics import mean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording import NothingToPool, TakeOffset, pool_colour, pool_takes
from analysis.recording.pooling import BETWEEN_TAKES_PRIOR_CENTS

CENTS = st.floats(-200, 200)
TAKES = st.lists(st.builds(TakeOffset, CENTS, st.floats(0.0, 5.0)), min_size=1, max_size=12)


def test_a_single_take_keeps_its_offset_and_is_widened_by_the_prior() -> None:
    pooled = pool_takes([TakeOffset(-12.5, 0.4)])
    assert pooled.offset_cents == -12.5
    assert pooled.uncertainty_cents == pytest.approx(math.hypot(0.4, BETWEEN_TAKES_PRIOR_CENTS))
    assert pooled.between_takes_cents is None
    assert pooled.take_count == 1


def test_equally_good_takes_close_together_pool_to_their_mean() -> None:
    # all within Huber's limit: the M-estimate is the mean
    offsets = [1.0, 2.0, 3.5, 4.0]
    pooled = pool_takes([TakeOffset(o, 0.2) for o in offsets])
    assert pooled.offset_cents == pytest.approx(mean(offsets))


def test_a_take_with_large_uncertainty_weighs_by_its_inverse_variance() -> None:
    pooled = pool_takes([TakeOffset(0.0, 0.0), TakeOffset(3.0, 20.0)])
    between = pooled.between_takes_cents
    assert between is not None
    sharp, vague = 1 / between**2, 1 / (between**2 + 400)
    assert pooled.offset_cents == pytest.approx(3.0 * vague / (sharp + vague))
    # Student's t with 4 + 1 degrees of freedom has variance 5 / 3
    assert pooled.uncertainty_cents == pytest.approx(math.sqrt(5 / 3 / (sharp + vague)))


def test_one_wrong_take_does_not_drag_the_figure() -> None:
    takes = [TakeOffset(o, 0.1) for o in (4.0, 4.5, 5.0, 5.5)]
    steady = pool_takes(takes).offset_cents
    assert abs(pool_takes([*takes, TakeOffset(700.0, 0.1)]).offset_cents - steady) < 2.0
    assert abs(pool_takes([*takes, TakeOffset(1900.0, 0.1)]).offset_cents - steady) < 2.0


def test_more_takes_make_the_figure_more_certain() -> None:
    widths = [
        pool_takes([TakeOffset(float(o), 0.1) for o in range(n)]).uncertainty_cents
        for n in (2, 4, 8)
    ]
    assert widths == sorted(widths, reverse=True)


def test_scatter_from_take_to_take_is_found_apart_from_scatter_within() -> None:
    # drawn from the model itself: between 6 cents, within 2 cents
    rng = np.random.default_rng(4)
    takes = [TakeOffset(float(10 + rng.normal(0, 6) + rng.normal(0, 2)), 2.0) for _ in range(400)]
    pooled = pool_takes(takes)
    assert pooled.between_takes_cents == pytest.approx(6.0, rel=0.15)
    assert pooled.offset_cents == pytest.approx(10.0, abs=1.0)


def test_sharp_takes_far_apart_are_uncertain_and_vague_takes_close_together_are_not_more_so() -> (
    None
):
    # spread between takes counts; spread within a take that explains the scatter is taken off it
    apart = pool_takes([TakeOffset(o, 0.05) for o in (-9.0, -3.0, 0.0, 3.0, 9.0)])
    vague = pool_takes([TakeOffset(o, 6.0) for o in (-9.0, -3.0, 0.0, 3.0, 9.0)])
    assert apart.between_takes_cents is not None and vague.between_takes_cents is not None
    assert apart.between_takes_cents > 1.15 * vague.between_takes_cents
    # vague: median absolute deviation 3, so 1.4826 x 1.206 x 3 = 5.4 < 6: only the prior is left,
    # (4 x 3^2 + 4 x 0) / 8
    assert vague.between_takes_cents == pytest.approx(math.sqrt(4.5))


def test_the_stated_uncertainty_covers_the_truth() -> None:
    rng = np.random.default_rng(11)
    inside = 0
    for _ in range(400):
        takes = [TakeOffset(float(rng.normal(0, 3) + rng.normal(0, 0.5)), 0.5) for _ in range(5)]
        pooled = pool_takes(takes)
        inside += abs(pooled.offset_cents) <= 2 * pooled.uncertainty_cents
    assert 0.92 <= inside / 400 <= 0.99


@given(TAKES)
def test_the_order_of_takes_does_not_matter(takes: list[TakeOffset]) -> None:
    mirrored = pool_takes(takes[::-1])
    assert pool_takes(takes).offset_cents == pytest.approx(mirrored.offset_cents, abs=1e-6)


@given(TAKES, CENTS)
def test_moving_all_takes_moves_the_figure(takes: list[TakeOffset], shift: float) -> None:
    moved = [TakeOffset(t.offset_cents + shift, t.uncertainty_cents) for t in takes]
    expected = pool_takes(takes).offset_cents + shift
    assert pool_takes(moved).offset_cents == pytest.approx(expected, abs=1e-6)


@given(TAKES)
def test_the_figure_lies_among_its_takes(takes: list[TakeOffset]) -> None:
    offsets = [take.offset_cents for take in takes]
    assert min(offsets) - 1e-9 <= pool_takes(takes).offset_cents <= max(offsets) + 1e-9


@pytest.mark.parametrize(
    ("takes", "reason"),
    [
        ([], "no usable take"),
        ([TakeOffset(math.nan, 1.0)], "plain numbers"),
        ([TakeOffset(1.0, math.inf)], "plain numbers"),
        ([TakeOffset(1.0, -1.0)], "plain numbers"),
    ],
)
def test_nothing_to_pool_is_refused(takes: list[TakeOffset], reason: str) -> None:
    with pytest.raises(NothingToPool, match=reason):
        pool_takes(takes)


def test_colour_pools_to_its_median_with_the_scatter_of_a_normal_sample() -> None:
    # drawn from a normal distribution of standard deviation 0.4
    rng = np.random.default_rng(8)
    pooled = pool_colour([float(each) for each in rng.normal(3.0, 0.4, 2000)])
    assert pooled.middle == pytest.approx(3.0, abs=0.03)
    assert pooled.spread == pytest.approx(0.4, rel=0.06)
    assert pooled.count == 2000


def test_the_scatter_of_a_few_readings_is_right_on_average() -> None:
    # the small-sample factors make it so: samples of five, standard deviation 1
    rng = np.random.default_rng(9)
    spreads = [pool_colour(list(rng.normal(0, 1, 5))).spread for _ in range(3000)]
    assert np.mean([each for each in spreads if each is not None]) == pytest.approx(1.0, abs=0.04)


def test_one_reading_has_no_scatter_and_one_odd_reading_does_not_drag_the_median() -> None:
    assert pool_colour([2.5]).spread is None
    assert pool_colour([2.4, 2.5, 2.6, 11.0]).middle == pytest.approx(2.55)


@pytest.mark.parametrize(
    ("readings", "reason"),
    [([], "No take"), ([1.0, math.nan], "plain numbers"), ([math.inf], "plain numbers")],
)
def test_colour_that_is_no_number_is_refused(readings: list[float], reason: str) -> None:
    with pytest.raises(NothingToPool, match=reason):
        pool_colour(readings)
