"""Passages: which fingering for each note, by the cheapest path through a trellis.

A state of a note is a fingering for it; of a trill or tremolo a pair of fingerings. Nodes and edges
cost what `passage_costs` says. The same pitch gets the same fingering where that costs little: what
most places of a pitch have costs less in the next round, until nothing changes. A seam (a repeat)
costs as one more transition, its far end as it was in the round before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.planning.passage_costs import (
    FingeringOption,
    PassageNote,
    PassageState,
    PassageWeights,
    find_crossings,
    find_node_cost,
    find_urgency,
)
from analysis.planning.trellis import (
    Trellis,
    TrellisPath,
    find_best_path,
    find_insisting_costs,
)

Real = NDArray[np.float64]
Options = tuple[FingeringOption, ...]
MotionGrid = Callable[[Options, Options], Real]
"""Cost of moving from each of some fingerings to each of others, whatever the tempo: at least 0,
shape (first, second)."""

SAME_PITCH_BONUS = 0.3
_MOST_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class PassagePath:
    """Fingerings of a passage.

    Attributes:
        states: of each note, the place of its state in `PassageNote.states`.
        cost: of nodes, edges and seams, without the bonus for the same pitch.
        insisting: for each note how much harder insisting on each of its states makes the
            passage, shape (states,); below 0 where it would be easier without what is fixed.
        crossings: what each transition costs, from a note to the next; one fewer than notes.
    """

    states: tuple[int, ...]
    cost: float
    insisting: tuple[Real, ...]
    crossings: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Passage:
    """Notes in order; `seams` lead from one note to another (places) beside the order.

    `fixed` says by the place of a note which of its options (place) the player has fixed, of a
    trill for its main note.
    """

    notes: tuple[PassageNote, ...]
    seams: tuple[tuple[int, int], ...] = ()
    fixed: Mapping[int, int] | None = None

    def allows(self, place: int, state: PassageState) -> bool:
        """Whether a note may have a state, by what is fixed."""
        return self.fixed is None or self.fixed.get(place, state.option) == state.option


def finger_passage(
    passage: Passage, motion: MotionGrid, weights: PassageWeights | None = None
) -> PassagePath:
    """Find the fingerings of a passage that together cost least.

    Args:
        passage: notes with at least one option each.
        motion: what moving between fingerings costs.
        weights: what counts how much; equal weights by default.

    Without seams and for different pitches it is the cheapest of all ways; fixed fingerings are in
    it whatever they cost.
    """
    table = build_trellis(passage, motion, weights or PassageWeights())
    if not passage.notes:
        return PassagePath((), 0.0, (), ())
    best, told = _settle(passage, table)
    free = [node + plus for node, plus in zip(table.free, told.plus, strict=True)]
    crossings = tuple(
        float(edge[here, there])
        for edge, (here, there) in zip(table.trellis.edges, pairwise(best.states), strict=True)
    )
    cost = table.trellis.cost_of(best.states)
    cost += sum(edge[best.states[a], best.states[b]] for (a, b), edge in table.seams.items())
    return PassagePath(
        best.states, float(cost), find_insisting_costs(told.trellis, free), crossings
    )


@dataclass(frozen=True, slots=True)
class PassageTrellis:
    """A passage as a trellis: without what is fixed (`free`) and with it, and edges of seams."""

    trellis: Trellis
    free: tuple[Real, ...]
    seams: Mapping[tuple[int, int], Real]


def build_trellis(passage: Passage, motion: MotionGrid, weights: PassageWeights) -> PassageTrellis:
    """Work out all nodes and edges of a passage; equal ones once."""
    notes = passage.notes
    edges = _Edges(motion, weights)
    free = _find_nodes(notes, edges, weights)
    nodes = tuple(
        np.where([passage.allows(place, state) for state in note.states], node, np.inf)
        for place, (note, node) in enumerate(zip(notes, free, strict=True))
    )
    between = tuple(edges.find(*pair) for pair in pairwise(notes))
    seams = {(a, b): edges.find(notes[a], notes[b]) for a, b in passage.seams}
    return PassageTrellis(Trellis(nodes, between), free, seams)


def _find_nodes(
    notes: Sequence[PassageNote], edges: _Edges, weights: PassageWeights
) -> tuple[Real, ...]:
    known: dict[tuple[object, ...], Real] = {}
    found = []
    for note in notes:
        mark = (id(note.options), id(note.partners), *note.circumstance)
        if mark not in known:
            known[mark] = np.array(
                [find_node_cost(note, state, weights, edges.both_ways) for state in note.states]
            )
        found.append(known[mark])
    return tuple(found)


class _Edges:
    """Edges between notes; motion and crossing of the same options are worked out once."""

    def __init__(self, motion: MotionGrid, weights: PassageWeights) -> None:
        self._motion = motion
        self._weights = weights
        self._grids: dict[tuple[int, int], tuple[Real, Real]] = {}

    def both_ways(self, option: FingeringOption, partner: FingeringOption) -> float:
        """Return what going there and back costs."""
        there, back = self._motion((option,), (partner,)), self._motion((partner,), (option,))
        return float(there[0, 0] + back[0, 0])

    def find(self, first: PassageNote, second: PassageNote) -> Real:
        """Find the edges from each state of a note to each of the next."""
        motion, crossing = self._find_grids(first.options, second.options)
        cost = self._weights.motion * find_urgency(first, second) * motion
        if second.is_slurred:
            cost = cost + crossing
        rows = [state.option for state in first.states]
        columns = [state.option for state in second.states]
        return np.asarray(cost[np.ix_(rows, columns)])

    def _find_grids(
        self, first: tuple[FingeringOption, ...], second: tuple[FingeringOption, ...]
    ) -> tuple[Real, Real]:
        mark = id(first), id(second)
        if mark not in self._grids:
            self._grids[mark] = self._motion(first, second), find_crossings(first, second)
        return self._grids[mark]


@dataclass(frozen=True, slots=True)
class _Round:
    """A trellis with what rounds add to its nodes."""

    trellis: Trellis
    plus: tuple[Real, ...]


def _settle(passage: Passage, table: PassageTrellis) -> tuple[TrellisPath, _Round]:
    """Repeat the search with the bonus and the far ends of seams until nothing changes."""
    told = _Round(table.trellis, tuple(np.zeros(len(node)) for node in table.free))
    best = find_best_path(told.trellis)
    for _ in range(_MOST_ROUNDS):
        plus = _find_plus(passage, table, best)
        nodes = tuple(node + each for node, each in zip(table.trellis.nodes, plus, strict=True))
        told = _Round(replace(table.trellis, nodes=nodes), plus)
        again = find_best_path(told.trellis)
        if again.states == best.states:
            return again, told
        best = again
    return best, told


def _find_plus(passage: Passage, table: PassageTrellis, path: TrellisPath) -> tuple[Real, ...]:
    """Find what a path that was found adds to the nodes: less for majorities, seams to its ends."""
    plus = [np.zeros(len(node)) for node in table.free]
    chosen: dict[int, Counter[int]] = {}
    for note, state in zip(passage.notes, path.states, strict=True):
        chosen.setdefault(id(note.options), Counter())[note.states[state].option] += 1
    for note, each in zip(passage.notes, plus, strict=True):
        counted = chosen[id(note.options)]
        if counted.total() > 1:
            most = counted.most_common(1)[0][0]
            is_most = np.array([state.option == most for state in note.states])
            np.subtract(each, SAME_PITCH_BONUS, out=each, where=is_most)
    for (start, end), edge in table.seams.items():
        plus[start] += edge[:, path.states[end]]
        plus[end] += edge[path.states[start], :]
    return tuple(plus)
