"""Trellis: the Viterbi algorithm and forward-backward minima.

A trellis has a column of states for each step and an edge between any two states of neighbouring
columns. A path takes one state of each column; it costs the sum of its nodes and edges. A state or
an edge that is not allowed costs infinity. Sources: Viterbi 1967, Forney 1973 (the algorithm), from
memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Trellis:
    """Costs of a trellis.

    Attributes:
        nodes: of each column, shape (states,), any size, infinity for what is not allowed.
        edges: from each column to the next, shape (states, states of the next); one fewer.
    """

    nodes: tuple[Real, ...]
    edges: tuple[Real, ...]

    def __post_init__(self) -> None:
        if len(self.edges) != max(0, len(self.nodes) - 1):
            raise ValueError(
                f"{len(self.edges)} arrays of edges for {len(self.nodes)} columns; give one fewer."
            )
        for edge, here, there in zip(self.edges, self.nodes[:-1], self.nodes[1:], strict=True):
            if edge.shape != (len(here), len(there)):
                raise ValueError(
                    f"Edges of shape {edge.shape} between {len(here)} and {len(there)}."
                )

    def cost_of(self, states: Sequence[int]) -> float:
        """Return what the path through some states costs, one state of each column."""
        cost = sum(float(node[state]) for node, state in zip(self.nodes, states, strict=True))
        pairs = zip(self.edges, states[:-1], states[1:], strict=True)
        return cost + sum(float(edge[here, there]) for edge, here, there in pairs)


@dataclass(frozen=True, slots=True, order=True)
class TrellisPath:
    """A path through a trellis: its cost, and the state in each column."""

    cost: float
    states: tuple[int, ...]


def find_best_path(trellis: Trellis) -> TrellisPath:
    """Return the cheapest path; of several as cheap the one with the first states from the end.

    Raises `ValueError` if no path is allowed. A trellis without columns has the empty path.
    """
    if not trellis.nodes:
        return TrellisPath(0.0, ())
    reached, came_from = trellis.nodes[0], []
    for edge, node in zip(trellis.edges, trellis.nodes[1:], strict=True):
        ways = reached[:, np.newaxis] + edge
        first = np.argmin(ways, axis=0)
        came_from.append(first)
        reached = ways[first, np.arange(len(node))] + node
    state = int(np.argmin(reached))
    if not np.isfinite(reached[state]):
        raise ValueError("No path through the trellis is allowed.")
    states = [state]
    for first in reversed(came_from):
        state = int(first[state])
        states.append(state)
    states.reverse()
    return TrellisPath(trellis.cost_of(states), tuple(states))


def find_insisting_costs(trellis: Trellis, nodes: Sequence[Real] | None = None) -> tuple[Real, ...]:
    """Return what insisting on a state costs more than the best path, for each state.

    Forward and backward minima: the cheapest path through a state is the cheapest way to it, the
    state itself, and the cheapest way from it to the end.

    Args:
        trellis: at least one path of it is allowed.
        nodes: what a state itself costs where it is insisted on, shapes as `Trellis.nodes`: with
            these a state that the trellis does not allow can be asked for too.

    Returns:
        Shape (states,) for each column; 0 for the states of a best path, below 0 only for states
        that the trellis makes dearer than `nodes`.
    """
    if not trellis.nodes:
        return ()
    own = trellis.nodes if nodes is None else nodes
    to_here, from_here = _find_ways_to(trellis), _find_ways_from(trellis)
    best = float(np.min(to_here[-1] + trellis.nodes[-1]))
    return tuple(
        np.asarray(before + node + after - best)
        for before, node, after in zip(to_here, own, from_here, strict=True)
    )


def _find_ways_to(trellis: Trellis) -> list[Real]:
    """Find the cheapest way to each state, without the state itself."""
    ways = [np.zeros(len(trellis.nodes[0]))]
    for node, edge in zip(trellis.nodes[:-1], trellis.edges, strict=True):
        ways.append(np.min((ways[-1] + node)[:, np.newaxis] + edge, axis=0))
    return ways


def _find_ways_from(trellis: Trellis) -> list[Real]:
    """Find the cheapest way from each state to the end, without the state itself."""
    ways = [np.zeros(len(trellis.nodes[-1]))]
    for node, edge in zip(trellis.nodes[:0:-1], trellis.edges[::-1], strict=True):
        ways.append(np.min(edge + (ways[-1] + node), axis=1))
    ways.reverse()
    return ways
