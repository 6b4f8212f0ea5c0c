"""Costs of measured ways: comparable with judged ones, and a scale that few loops move little."""

from __future__ import annotations

import pytest

from analysis.keywork import load_layout, parse_fingering
from analysis.planning import MotionTable, Played, find_measured_costs
from analysis.planning.measured_motion import LEAST_S, PRIOR_S, find_unit_s

SOPRANO = load_layout("soprano-17-6")
E5, F5, FORK, C5 = (
    Played(parse_fingering(keys, SOPRANO), cents)
    for keys, cents in (
        ("T R 123 | 12-", 7600.0),
        ("T R 123 | 1--", 7700.0),
        ("T R 123 | -2-", 7800.0),
        ("T R 123 | 123", 7400.0),
    )
)


def test_one_way_is_measured_by_the_prior_scale() -> None:
    table = MotionTable(SOPRANO)
    costs = find_measured_costs(table, {(E5, F5): 0.12})
    assert costs == {(E5, F5): pytest.approx(0.12 / PRIOR_S)}


def test_the_scale_follows_the_player_when_many_ways_are_measured() -> None:
    table = MotionTable(SOPRANO)
    ways = [(E5, F5), (F5, E5), (F5, FORK), (FORK, F5), (C5, E5), (E5, C5), (C5, F5), (F5, C5)]
    times_s = {way: 0.06 * table.find(*way).cost for way in ways}
    assert find_unit_s(table, times_s) == pytest.approx(0.06)
    costs = find_measured_costs(table, times_s)
    for way in ways:
        assert costs[way] == pytest.approx(table.find(*way).cost)


def test_each_direction_has_its_own_cost_and_none_is_free() -> None:
    table = MotionTable(SOPRANO)
    costs = find_measured_costs(table, {(E5, F5): 0.0, (F5, E5): 0.09})
    assert costs[E5, F5] == pytest.approx(LEAST_S / PRIOR_S)
    assert costs[F5, E5] == pytest.approx(0.09 / PRIOR_S)
    assert find_measured_costs(table, {}) == {}
