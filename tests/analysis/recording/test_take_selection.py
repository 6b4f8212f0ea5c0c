"""Selection of takes: one wrong note never spoils a figure, whatever the order.

The limits (60, 300, 35 cents) are the rule itself; offsets are invented.
"""

import random
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.recording import (
    Expectation,
    TakeReading,
    TakeStanding,
    asks_the_tube,
    select_takes,
)
from analysis.recording.take_selection import find_largest_group

COUNTS, OTHER, WAITS = TakeStanding.COUNTS, TakeStanding.OTHER_GROUP, TakeStanding.WAITS
UNEXPECTED, SCATTERED = TakeStanding.UNEXPECTED, TakeStanding.SCATTERED
WATCHED = TakeStanding.WATCHED
SURE_ELSEWHERE = Expectation(150.0, 10.0)
UNSURE = Expectation(150.0, 31.0)


def select(
    *offsets: float | None, expectation: Expectation | None = None
) -> tuple[TakeStanding, ...]:
    return select_takes([TakeReading(each) for each in offsets], expectation=expectation)


@pytest.mark.parametrize("order", list(permutations((-4.2, -3.0, -5.5, -607.8))))
def test_a_take_in_another_register_is_left_out_in_any_order(order: tuple[float, ...]) -> None:
    found = dict(zip(order, select(*order), strict=True))
    assert found == {-4.2: COUNTS, -3.0: COUNTS, -5.5: COUNTS, -607.8: OTHER}


@given(
    st.lists(st.floats(-17, 17), min_size=3, max_size=8),
    st.floats(86, 3000),
    st.sampled_from((-1, 1)),
    st.randoms(use_true_random=False),
)
def test_one_wrong_note_leaves_the_others_as_they_were(
    right: list[float], away: float, side: int, shuffling: random.Random
) -> None:
    wrong = side * away
    offsets = [*right, wrong]
    shuffling.shuffle(offsets)
    standings = select(*offsets)
    assert [each for cents, each in zip(offsets, standings, strict=True) if cents != wrong] == [
        COUNTS
    ] * len(right)
    assert standings[offsets.index(wrong)] is OTHER


@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.floats(-2500, 2500)),
            st.booleans(),
            st.booleans(),
            st.booleans(),
            st.sampled_from("abc"),
        ),
        max_size=9,
    ),
    st.sampled_from((None, SURE_ELSEWHERE, UNSURE)),
    st.randoms(use_true_random=False),
)
def test_the_order_changes_nothing(
    facts: list[tuple[float | None, bool, bool, bool, str]],
    expectation: Expectation | None,
    shuffling: random.Random,
) -> None:
    readings = [
        TakeReading(cents, cell, is_spoilt=spoilt, is_watched=watched, is_confirmed=confirmed)
        for cents, spoilt, watched, confirmed, cell in facts
    ]
    places = list(range(len(readings)))
    shuffling.shuffle(places)
    first = select_takes(readings, expectation=expectation)
    second = select_takes([readings[place] for place in places], expectation=expectation)
    assert [first[place] for place in places] == list(second)


def test_of_equal_groups_the_one_nearer_the_note_counts() -> None:
    assert select(700.0, 5.0, 702.0, 3.0) == (OTHER, COUNTS, OTHER, COUNTS)


def test_the_largest_group_counts_even_far_from_the_note() -> None:
    assert select(-702.0, -698.0, -701.0, 4.0) == (COUNTS, COUNTS, COUNTS, OTHER)


@pytest.mark.parametrize(
    ("cents", "expectation", "standing"),
    [
        (60.0, SURE_ELSEWHERE, COUNTS),  # as it was logged: the tube is not asked
        (150.0, SURE_ELSEWHERE, COUNTS),  # as the tube expects
        (211.0, SURE_ELSEWHERE, UNEXPECTED),
        (-61.0, SURE_ELSEWHERE, UNEXPECTED),
        (211.0, UNSURE, COUNTS),
        (211.0, None, COUNTS),
        (-300.0, None, COUNTS),
        (-300.1, None, WAITS),
        (1902.0, Expectation(1900.0, 5.0), WAITS),  # in any case
    ],
)
def test_a_single_take_is_compared_with_the_note_and_the_untaught_tube(
    cents: float, expectation: Expectation | None, standing: TakeStanding
) -> None:
    assert select(cents, expectation=expectation) == (standing,)


def test_the_tube_is_asked_only_where_it_can_matter() -> None:
    assert not asks_the_tube([TakeReading(20.0)])
    assert not asks_the_tube([TakeReading(900.0)])
    assert not asks_the_tube([TakeReading(90.0), TakeReading(91.0), TakeReading(2.0)])
    assert not asks_the_tube([TakeReading(90.0, is_confirmed=True)])
    assert asks_the_tube([TakeReading(90.0), TakeReading(2.0)])


def test_two_that_disagree_are_not_pooled() -> None:
    assert select(-4.0, 210.0) == (COUNTS, OTHER)


def day(*offsets: float, half_hole: bool = False, cell: str = "mf today") -> list[TakeStanding]:
    readings = [TakeReading(each, cell) for each in offsets]
    return list(select_takes(readings, has_half_hole=half_hole))


def test_a_take_far_from_three_that_agree_is_left_out() -> None:
    assert day(1.0, 2.0, 3.0, 40.0) == [COUNTS, COUNTS, COUNTS, SCATTERED]
    assert day(1.0, 2.0, 3.0, 36.0) == [COUNTS] * 4  # 34 from their middle
    assert day(1.0, 2.0, 40.0) == [COUNTS] * 3  # two are not enough
    assert day(1.0, 2.0, 3.0, 40.0, half_hole=True) == [COUNTS] * 4
    assert day(0.0, 13.0, 26.0, 52.0) == [COUNTS] * 4  # four of their deviations are more


def test_two_halves_of_a_day_are_both_kept() -> None:
    assert day(0.0, 1.0, 2.0, 44.0, 45.0, 46.0) == [COUNTS] * 6


def test_another_day_or_dynamic_may_differ() -> None:
    readings = [TakeReading(each, "pp") for each in (1.0, 2.0, 3.0)] + [TakeReading(40.0, "ff")]
    assert select_takes(readings) == (COUNTS,) * 4


def test_spoilt_takes_count_only_by_the_players_word() -> None:
    readings = [TakeReading(1.0), TakeReading(2.0, is_spoilt=True)]
    assert select_takes(readings) == (COUNTS, TakeStanding.LOST_SOUND)
    readings[1] = TakeReading(2.0, is_spoilt=True, is_confirmed=True)
    assert select_takes(readings) == (COUNTS, COUNTS)


def test_watched_takes_count_only_where_there_are_no_others() -> None:
    watched = TakeReading(1.0, is_watched=True)
    assert select_takes([watched, watched]) == (COUNTS, COUNTS)
    assert select_takes([watched, TakeReading(9.0)]) == (WATCHED, COUNTS)
    # one that is set aside displaces none
    assert select_takes([watched, TakeReading(900.0)]) == (COUNTS, WAITS)


def test_a_take_without_a_pitch_never_counts() -> None:
    assert select(None, 3.0) == (TakeStanding.NO_PITCH, COUNTS)
    assert select() == ()


def test_the_largest_group_is_found_among_many() -> None:
    assert find_largest_group([0.0, 59.9, 60.1, 300.0, 310.0, 320.0, 330.0]) == (300.0, 330.0)
    assert find_largest_group([5.0]) == (5.0, 5.0)
