"""Just intervals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    JUST_INTERVALS,
    JustInterval,
    PitchOutOfRange,
    UnknownInterval,
    find_just_interval,
)
from analysis.pitch.just_intervals import names_of_degree

intervals = st.builds(JustInterval, st.integers(1, 10_000), st.integers(1, 10_000))

# Sizes to 0.001 cent as in any table of just intervals: from memory.
TABLE_CENTS = {
    (1, 1): 0.000, (25, 24): 70.672, (16, 15): 111.731, (10, 9): 182.404, (9, 8): 203.910,
    (7, 6): 266.871, (6, 5): 315.641, (11, 9): 347.408, (5, 4): 386.314, (9, 7): 435.084,
    (4, 3): 498.045, (11, 8): 551.318, (7, 5): 582.512, (45, 32): 590.224, (64, 45): 609.776,
    (3, 2): 701.955, (8, 5): 813.686, (13, 8): 840.528, (5, 3): 884.359, (7, 4): 968.826,
    (16, 9): 996.090, (9, 5): 1017.596, (15, 8): 1088.269, (2, 1): 1200.000, (5, 2): 1586.314,
    (3, 1): 1901.955,
}  # fmt: skip


@pytest.mark.parametrize(("ratio", "cents"), TABLE_CENTS.items())
def test_sizes_agree_with_the_table(ratio: tuple[int, int], cents: float) -> None:
    assert JustInterval(*ratio).cents == pytest.approx(cents, abs=0.0006)


def test_every_named_interval_is_checked_against_the_table() -> None:
    named = {(interval.numerator, interval.denominator) for interval in JUST_INTERVALS}
    assert named == set(TABLE_CENTS)


@given(intervals)
def test_an_interval_and_its_inversion_cancel_out(interval: JustInterval) -> None:
    assert interval.inverted().inverted() == interval
    assert interval.cents == pytest.approx(-interval.inverted().cents, abs=1e-9)


@given(st.integers(1, 100), st.integers(1, 100), st.integers(1, 100))
def test_a_ratio_is_kept_in_lowest_terms(numerator: int, denominator: int, factor: int) -> None:
    plain = JustInterval(numerator, denominator)
    assert JustInterval(numerator * factor, denominator * factor) == plain
    assert math.gcd(plain.numerator, plain.denominator) == 1


@given(intervals)
def test_a_ratio_as_text_is_found_again(interval: JustInterval) -> None:
    assert find_just_interval(f"{interval.numerator}:{interval.denominator}") == interval
    assert find_just_interval(f"{interval.numerator} / {interval.denominator}") == interval


@pytest.mark.parametrize("interval", JUST_INTERVALS)
def test_a_named_interval_is_found_by_its_name(interval: JustInterval) -> None:
    assert find_just_interval(interval.name) == interval
    assert find_just_interval(f"a just {interval.name.upper()}") == interval


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("major third", (5, 4)),
        ("große Terz", (5, 4)),
        ("grosse Terz", (5, 4)),
        ("tierce majeure", (5, 4)),
        ("terza maggiore", (5, 4)),
        ("fifth", (3, 2)),
        ("une quinte juste", (3, 2)),
        ("eine reine Quinte", (3, 2)),
        ("septieme harmonique", (7, 4)),
        ("twelfth", (3, 1)),
    ],
)
def test_intervals_are_found_in_the_languages_of_the_trade(
    text: str, ratio: tuple[int, int]
) -> None:
    assert find_just_interval(text) == JustInterval(*ratio)


def test_an_unknown_interval_is_refused_with_what_is_accepted() -> None:
    with pytest.raises(UnknownInterval, match=r"ratio such as 5:4, or one of: .*major third"):
        find_just_interval("major thirtieth")


@pytest.mark.parametrize("ratio", [(0, 1), (1, 0), (-5, 4), (10_001, 1)])
def test_terms_outside_the_limits_are_refused(ratio: tuple[int, int]) -> None:
    with pytest.raises(PitchOutOfRange, match="between 1 and 10000"):
        JustInterval(*ratio)


def test_names_of_rising_falling_and_unnamed_intervals() -> None:
    assert JustInterval(6, 5).name == "minor third"
    assert JustInterval(5, 6).name == "falling minor third"
    assert JustInterval(17, 16).name == "17:16"


def test_the_name_tells_how_many_letters_the_interval_spans() -> None:
    assert JustInterval(5, 4).staff_steps == 2
    assert JustInterval(2, 3).staff_steps == -4
    assert JustInterval(17, 16).staff_steps is None


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("third", ("minor third", "neutral third", "major third")),
        ("Sexte", ("kleine Sexte", "neutrale Sexte", "große Sexte")),
        ("banana", ()),
    ],
)
def test_a_bare_degree_has_several_meanings(word: str, names: tuple[str, ...]) -> None:
    assert names_of_degree(word) == names
    for name in names:
        find_just_interval(name)
