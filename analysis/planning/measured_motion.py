"""Costs of transitions from measured times, in the unit of the judged ones.

A judged cost (`motion_cost`) has no unit; a loop measures seconds. What one unit takes is the
median of time over judged cost of all ways that were measured, with three ways of `PRIOR_S` beside
them, so that the first loops move the scale little. So a player of quick fingers has smaller units,
and what counts is which changes take longer than others. `PRIOR_S` is judgement: keys take 10 to
16 ms, and several fingers arrive tens of milliseconds apart (Almeida, Chow, Smith & Wolfe, J.
Acoust. Soc. Am. 126, 2009). A time within what windows cannot tell counts as `LEAST_S`.
"""

from __future__ import annotations

from collections.abc import Mapping
from statistics import median

from analysis.planning.motion_cost import MotionTable, Played

PRIOR_S = 0.03
PRIOR_COUNT = 3
LEAST_S = 0.008

Ways = Mapping[tuple[Played, Played], float]
"""Something of each way from one played note to another."""


def find_measured_costs(table: MotionTable, times_s: Ways) -> dict[tuple[Played, Played], float]:
    """Find what measured ways cost, in the unit of the table.

    `times_s` has how long the change takes in seconds, 0 or more.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> f5 = Played(parse_fingering("T R 123 | 1--", soprano), 7700.0)
    >>> fork = Played(parse_fingering("T R 123 | -2-", soprano), 7800.0)
    >>> round(find_measured_costs(MotionTable(soprano), {(f5, fork): 0.15})[f5, fork], 6)
    5.0
    """
    if not times_s:
        return {}
    table.prepare(times_s)
    unit_s = find_unit_s(table, times_s)
    return {way: max(seconds, LEAST_S) / unit_s for way, seconds in times_s.items()}


def find_unit_s(table: MotionTable, times_s: Ways) -> float:
    """Find how many seconds one unit of cost takes."""
    shares = [
        max(seconds, LEAST_S) / cost
        for way, seconds in times_s.items()
        if (cost := table.find(*way).cost) > 0
    ]
    return median([*shares, *[PRIOR_S] * PRIOR_COUNT])
