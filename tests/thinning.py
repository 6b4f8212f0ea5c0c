"""Thinned grids: covering arrays of strength two or one every day, and every case with `--all`.

What the daily run leaves out carries the mark `long_run` (see `tests/conftest.py`).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import combinations, product
from typing import Any

import pytest
from _pytest.mark import ParameterSet
from hypothesis import settings

from tests.conftest import ALL_EXAMPLES, DAILY_EXAMPLES

_Pair = tuple[int, int, int, int]
"""Two axes, and the place of a value on each."""


def pairwise_daily(*axes: Sequence[Any]) -> list[ParameterSet]:
    """Return the product of the axes; a covering array of strength two is for every day.

    Each value of an axis meets each value of every other axis in some daily case, so with two axes
    all cases are for every day. The array is built greedily: always the case with the most pairs
    not seen yet, the first of those.

    >>> cases = pairwise_daily("ab", "cd", "ef")
    >>> ["".join(case.values) for case in cases if not case.marks]
    ['ace', 'adf', 'bcf', 'bde']
    """
    places = list(product(*(range(len(axis)) for axis in axes)))
    return _mark(axes, places, _cover(places))


def each_daily(*axes: Sequence[Any]) -> list[ParameterSet]:
    """Return the product of the axes; as many cases as the longest has values are for every day.

    Each value of each axis stands in one of those.

    >>> cases = each_daily("abc", "de")
    >>> ["".join(case.values) for case in cases if not case.marks]
    ['ad', 'be', 'cd']
    """
    count = max(map(len, axes))
    daily = {tuple(at % len(axis) for axis in axes) for at in range(count)}
    return _mark(axes, list(product(*(range(len(axis)) for axis in axes))), daily)


def every_daily(step: int, values: Sequence[Any]) -> list[ParameterSet]:
    """Return values as parameters; every `step`-th and the last are for every day.

    >>> [case.values[0] for case in every_daily(3, "abcdef") if not case.marks]
    ['a', 'd', 'f']
    """
    last = len(values) - 1
    return [
        pytest.param(value, marks=pytest.mark.long_run if number % step and number != last else ())
        for number, value in enumerate(values)
    ]


def examples(count: int, *, share: int = ALL_EXAMPLES // DAILY_EXAMPLES) -> int:
    """Return how many examples a property test of its own size takes: a share of them every day."""
    return count if settings().max_examples == ALL_EXAMPLES else count // share


def _mark(
    axes: Sequence[Sequence[Any]],
    places: Sequence[tuple[int, ...]],
    daily: Collection[tuple[int, ...]],
) -> list[ParameterSet]:
    """Make a case of each place, for the long run unless it is a daily one."""
    return [
        pytest.param(
            *(axis[at] for axis, at in zip(axes, place, strict=True)),
            marks=() if place in daily else pytest.mark.long_run,
        )
        for place in places
    ]


def _cover(places: Sequence[tuple[int, ...]]) -> set[tuple[int, ...]]:
    pairs = {place: _pairs_of(place) for place in places}
    missing = set[_Pair]().union(*pairs.values())
    chosen = set()
    while missing:
        best = max(places, key=lambda place: len(pairs[place] & missing))
        chosen.add(best)
        missing -= pairs[best]
    return chosen


def _pairs_of(place: tuple[int, ...]) -> set[_Pair]:
    return {(a, b, place[a], place[b]) for a, b in combinations(range(len(place)), 2)}
