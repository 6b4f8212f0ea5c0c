"""Differences of offsets: the closed rule for their uncertainty, and what counts as clear."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording import (
    NothingToPool,
    TakeOffset,
    compare_dynamics,
    pool_takes,
    relative_offset,
)
from analysis.recording.pooling import BETWEEN_TAKES_PRIOR_CENTS

OFFSETS = st.builds(TakeOffset, st.floats(-200, 200), st.floats(0, 20))


def test_an_offset_on_a_sharp_day_is_less_sharp_against_that_days_tuning_note() -> None:
    # independent standard uncertainties add by their squares: 3, 4, 5
    assert relative_offset(TakeOffset(12.0, 3.0), TakeOffset(5.0, 4.0)) == TakeOffset(7.0, 5.0)


def test_pooled_figures_are_compared_with_their_pooled_uncertainty() -> None:
    one, other = (pool_takes([TakeOffset(o, 0.1)]) for o in (1.0, -2.0))
    shift = relative_offset(one, other)
    assert shift.offset_cents == pytest.approx(3.0)
    assert shift.uncertainty_cents == pytest.approx(math.sqrt(2) * one.uncertainty_cents)


@given(OFFSETS, OFFSETS)
def test_the_other_way_round_is_the_opposite_and_as_uncertain(
    one: TakeOffset, other: TakeOffset
) -> None:
    there, back = relative_offset(one, other), relative_offset(other, one)
    assert there.offset_cents == -back.offset_cents
    assert there.uncertainty_cents == back.uncertainty_cents
    assert there.uncertainty_cents >= max(one.uncertainty_cents, other.uncertainty_cents)


def test_a_dynamic_that_moves_the_pitch_is_named_with_its_shift() -> None:
    soft = [TakeOffset(o, 0.1) for o in (6.0, 7.0, 8.0)]
    loud = [TakeOffset(o, 0.1) for o in (-11.0, -12.0)]
    (shift,) = compare_dynamics({"pp": soft, "ff": loud})
    assert (shift.dynamic, shift.against) == ("ff", "pp")
    assert shift.shift.offset_cents == pytest.approx(-11.5 - 7.0)
    pooled = pool_takes(soft).uncertainty_cents, pool_takes(loud).uncertainty_cents
    assert shift.shift.uncertainty_cents == pytest.approx(math.hypot(*pooled))


# A single take is known to 3 cents, the difference of two to 3 sqrt(2); clear is twice that: 8.49.
LIMIT_CENTS = 2 * math.sqrt(2) * BETWEEN_TAKES_PRIOR_CENTS


@pytest.mark.parametrize(("share", "is_named"), [(0.98, False), (1.02, True)])
def test_a_shift_is_named_only_beyond_twice_its_uncertainty(share: float, is_named: bool) -> None:
    takes = {"p": [TakeOffset(0.0, 0.0)], "f": [TakeOffset(-share * LIMIT_CENTS, 0.0)]}
    assert bool(compare_dynamics(takes)) is is_named


def test_dynamics_that_sound_alike_are_hardly_ever_named() -> None:
    # twice the standard uncertainty leaves 5% of a normal scatter outside
    rng = np.random.default_rng(3)
    named = 0
    for _ in range(400):
        takes = {d: [TakeOffset(float(rng.normal(0, 3)), 0.1)] * 1 for d in ("p", "f")}
        named += bool(compare_dynamics(takes))
    assert 0.02 <= named / 400 <= 0.08


def test_the_dynamic_with_most_takes_is_what_the_others_are_compared_with() -> None:
    takes = {
        "pp": [TakeOffset(20.0, 0.1)],
        "mf": [TakeOffset(0.0, 0.1), TakeOffset(0.5, 0.1)],
        "f": [],
        "ff": [TakeOffset(-20.0, 0.1)],
    }
    shifts = compare_dynamics(takes)
    assert [(each.dynamic, each.against) for each in shifts] == [("pp", "mf"), ("ff", "mf")]


def test_of_dynamics_with_equal_takes_the_middle_one_is_compared_with() -> None:
    takes = {d: [TakeOffset(o, 0.1)] for d, o in (("pp", 20.0), ("mf", 0.0), ("ff", -20.0))}
    assert {each.against for each in compare_dynamics(takes)} == {"mf"}


@pytest.mark.parametrize("takes", [{}, {"p": [TakeOffset(1.0, 0.1)]}, {"p": [], "f": []}])
def test_fewer_than_two_dynamics_compare_to_nothing(takes: dict[str, list[TakeOffset]]) -> None:
    assert compare_dynamics(takes) == ()


def test_an_offset_that_is_no_number_is_refused() -> None:
    with pytest.raises(NothingToPool, match="plain numbers"):
        compare_dynamics({"p": [TakeOffset(math.nan, 0.1)], "f": [TakeOffset(0.0, 0.1)]})
