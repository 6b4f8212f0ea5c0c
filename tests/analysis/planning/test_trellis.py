"""Trellis: the best path and insisting on a state, each beside all ways."""

from itertools import pairwise, product

import numpy as np
import pytest

from analysis.planning.trellis import (
    Trellis,
    TrellisPath,
    find_best_path,
    find_insisting_costs,
)

CASES = 200


def draw_trellis(seed: int, *, is_barred: bool = False) -> Trellis:
    """A seeded trellis of up to five columns; with `is_barred` a few states are not allowed."""
    chance = np.random.default_rng(seed)
    sizes = chance.integers(1, 5, size=chance.integers(1, 6))
    nodes = [chance.uniform(0, 5, size=size) for size in sizes]
    if is_barred:
        for node in nodes:
            node[1:][chance.random(len(node) - 1) < 0.3] = np.inf
    edges = [chance.uniform(0, 5, size=pair) for pair in pairwise(sizes)]
    return Trellis(tuple(nodes), tuple(edges))


def list_every_path(trellis: Trellis) -> list[TrellisPath]:
    """All allowed paths, the cheapest first."""
    ways = product(*(range(len(node)) for node in trellis.nodes))
    paths = [TrellisPath(trellis.cost_of(states), states) for states in ways]
    return sorted(path for path in paths if np.isfinite(path.cost))


@pytest.mark.parametrize("is_barred", [False, True])
def test_it_equals_all_ways(*, is_barred: bool) -> None:
    for seed in range(CASES):
        trellis = draw_trellis(seed, is_barred=is_barred)
        every = list_every_path(trellis)
        assert find_best_path(trellis) == every[0]
        for column, costs in enumerate(find_insisting_costs(trellis)):
            for state, cost in enumerate(costs):
                through = [path.cost for path in every if path.states[column] == state]
                expected = min(through, default=np.inf) - every[0].cost
                assert cost == pytest.approx(expected, abs=1e-9)


def test_insisting_on_what_is_not_allowed_tells_what_it_would_cost() -> None:
    node, barred = np.array([1.0, 0.0]), np.array([1.0, np.inf])
    edge = np.array([[0.0], [0.5]])
    trellis = Trellis((barred, np.zeros(1)), (edge,))
    assert find_insisting_costs(trellis, [node, np.zeros(1)])[0].tolist() == [0.0, -0.5]


def test_without_columns_there_is_the_empty_path() -> None:
    empty = Trellis((), ())
    assert find_best_path(empty) == TrellisPath(0.0, ())
    assert find_insisting_costs(empty) == ()


def test_a_trellis_without_an_allowed_path_is_refused() -> None:
    with pytest.raises(ValueError, match="No path"):
        find_best_path(Trellis((np.array([np.inf]),), ()))


@pytest.mark.parametrize("edges", [(), (np.zeros((2, 2)),)])
def test_edges_that_do_not_fit_are_refused(edges: tuple[np.ndarray, ...]) -> None:
    with pytest.raises(ValueError, match=r"edges|Edges"):
        Trellis((np.zeros(1), np.zeros(2)), edges)
