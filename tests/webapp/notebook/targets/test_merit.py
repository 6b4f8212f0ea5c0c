"""The order of merit and the reason for the first, on facts built by hand.

The truth is the requirement: the player's own; in tune; near; not tried; among equals what speaks
safely, free, easy, steady, well measured, and cents last, a half-hole behind all of them.
"""

from collections.abc import Sequence
from itertools import permutations
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.webapp.notebook.targets.judging import (
    ALTERNATE,
    MINE,
    REJECTED,
    judged,
    note,
    numbers,
)
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.merit import explain_first, merit, rank
from webapp.notebook.targets.standing import Judged, Standing, Word

SOFT = Word(Role.MINE, (Circumstance.SOFT,))


def order(*wanted: Judged) -> None:
    """Whatever the order they come in, they are ranked as they are written down."""
    for mixed in (wanted[::-1], *list(permutations(wanted))[:24]):
        assert rank(mixed, note()) == wanted


def test_choice_in_tune_near_not_tried_elsewhere_rejected_silent() -> None:
    order(
        judged(None, MINE, number=9),
        judged(None, SOFT, number=8),
        judged(9.0, number=7),
        judged(12.0, number=6),
        judged(None, number=5),
        judged(-30.0, number=4),
        judged(0.0, REJECTED, number=3),
        judged(30.0, REJECTED, number=2),
        judged(0.0, number=1, does_not_speak=True),
    )


@pytest.mark.parametrize(
    ("better", "worse", "why"),
    [
        ({"has_half_hole": False}, {"has_half_hole": True}, "without a half-hole"),
        ({"failed_take_count": 0}, {"failed_take_count": 1}, "and it speaks safely"),
        ({"resistance": 1}, {"resistance": 5}, "the freest"),
        ({"resistance": 2}, {"resistance": None}, "the freest"),
        ({"resistance": None}, {"resistance": 4}, "the freest"),
        ({"ease": 0.9}, {"ease": 0.05}, "easy for the hands"),
        ({"spread_cents": 4.0}, {"spread_cents": 6.0}, "the steadiest"),
        ({"take_count": 5}, {"take_count": 1}, "the best measured"),
    ],
)
def test_within_the_tolerance_a_player_chooses_by_other_things_than_cents(
    better: dict[str, Any], worse: dict[str, Any], why: str
) -> None:
    first, second = judged(-9.5, number=2, **better), judged(0.0, number=1, **worse)
    order(first, second)
    assert explain_first((first, second), note()) == f"in tune, {why}"


def test_each_decides_before_the_next_and_cents_come_last() -> None:
    worst: dict[str, Any] = {
        "has_half_hole": True, "failed_take_count": 1, "resistance": 5, "ease": 0.05,
        "spread_cents": 30.0, "take_count": 1,
    }  # fmt: skip
    best: dict[str, Any] = {
        "has_half_hole": False, "failed_take_count": 0, "resistance": 1, "ease": 0.9,
        "spread_cents": 1.0, "take_count": 5,
    }  # fmt: skip
    names = list(worst)
    ladder = [
        judged(9.0, number=20 - place, **{**worst, **{each: best[each] for each in names[:place]}})
        for place in range(len(names) + 1)
    ]
    ladder.append(judged(1.0, number=30, **best))
    assert rank(ladder, note()) == tuple(reversed(ladder))


def test_a_stuffy_one_two_cents_nearer_comes_after_a_free_one() -> None:
    order(judged(-4.0, number=2, resistance=1), judged(-2.0, number=1, resistance=5))


def test_a_half_hole_in_tune_comes_before_what_is_24_cents_off() -> None:
    order(judged(9.0, number=2, has_half_hole=True), judged(24.0, number=1, resistance=1))


def test_near_ones_go_by_what_is_missing_to_the_cent() -> None:
    order(
        judged(11.0, number=4, has_half_hole=True),
        judged(15.1, number=3, resistance=1),
        judged(14.9, number=2, resistance=2),
        judged(24.0, number=1, resistance=1),
    )


def test_not_tried_ones_meant_for_the_note_are_equal_and_others_follow_by_distance() -> None:
    beside: dict[str, Any] = {"take_count": 0, "uncertainty_cents": None, "spread_cents": None}
    order(
        judged(6.0, number=4, resistance=1, **beside),
        judged(0.0, number=3, resistance=2, **beside),
        judged(0.0, number=2, has_half_hole=True, **beside),
        judged(14.0, number=1, resistance=1, **beside),
    )


def test_more_takes_than_five_say_no_more() -> None:
    first, second = judged(1.0, number=1, take_count=5), judged(2.0, number=2, take_count=50)
    order(first, second)


def test_of_two_that_are_equal_in_everything_the_older_comes_first() -> None:
    first, second = judged(3.0, number=1), judged(3.0, number=2)
    order(first, second)
    assert explain_first((first, second), note()) == "in tune"


@pytest.mark.parametrize(
    ("ranked", "words"),
    [
        ((), ""),
        ((judged(0.0),), "the only one in tune"),
        ((judged(0.0), judged(12.0, number=2)), "the only one in tune"),
        ((judged(0.0), judged(1.0, REJECTED, number=2)), "in tune"),
        ((judged(20.0, MINE), judged(0.0, number=2)), "your choice"),
        ((judged(None, SOFT), judged(0.0, number=2)), "your choice"),
        ((judged(20.4),), "near: 20 cents sharp, for the lip to close"),
        (
            (judged(12.0, resistance=1), judged(12.0, number=2, resistance=4)),
            "near: 12 cents sharp, for the lip to close, the freest",
        ),
        ((judged(None),), "not tried"),
        ((judged(0.0, REJECTED),), ""),
        ((judged(-40.0),), ""),
        ((judged(2.0), judged(3.0, number=2)), "in tune, the nearest"),
        ((judged(2.0, ALTERNATE), judged(3.0, number=2)), "in tune, the nearest"),
    ],
)
def test_the_first_is_explained_in_a_few_words(ranked: Sequence[Judged], words: str) -> None:
    assert explain_first(ranked, note()) == words


def test_flat_is_said_as_flat() -> None:
    tight = note(5.0)
    flat = judged(-8.0)
    near = Judged(flat.facts, Standing.NEAR, flat.offset_cents)
    assert explain_first((near,), tight) == "near: 8 cents flat, for the lip to close"


EVERY = st.builds(
    judged,
    st.none() | st.floats(-60, 60),
    st.sampled_from([None, MINE, SOFT, ALTERNATE, REJECTED]),
    number=st.integers(1, 10_000),
    resistance=st.none() | st.integers(1, 5),
    has_half_hole=st.booleans(),
    does_not_speak=st.booleans(),
    failed_take_count=st.integers(0, 3),
)


@given(st.lists(EVERY, max_size=12, unique_by=lambda each: each.facts.fingering_id), st.randoms())
def test_the_order_does_not_hang_on_how_they_come(every: list[Judged], chance: Random) -> None:
    ranked = rank(every, note())
    mixed = list(every)
    chance.shuffle(mixed)
    assert numbers(rank(mixed, note())) == numbers(ranked)
    merits = [merit(each, note()) for each in ranked]
    assert merits == sorted(merits)


@given(st.lists(EVERY, min_size=1, max_size=12))
def test_nothing_stands_before_what_is_in_tune_but_a_choice(every: list[Judged]) -> None:
    ranked = rank(every, note())
    in_tune = [
        place
        for place, each in enumerate(ranked)
        if each.standing is Standing.IN_TUNE and not each.is_rejected
    ]
    before = ranked[: in_tune[-1]] if in_tune else ()
    assert all(each.is_held_choice or each.standing is Standing.IN_TUNE for each in before)
