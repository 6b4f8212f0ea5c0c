"""Motion between fingerings of a passage, by the table of their instrument; kept in memory.

Where the player has recorded a loop of two fingerings what was measured takes the place of what the
table judges.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.keywork import Layout
from analysis.planning import (
    FingeringOption,
    PassageNote,
    Played,
    find_measured_costs,
    load_motion_table,
)

Options = tuple[FingeringOption, ...]
Real = NDArray[np.float64]

_GRIDS_KEPT = 20_000
_GRIDS: dict[tuple[str, Layout, tuple[Played, ...], tuple[Played, ...]], Real] = {}


class MoveCosts:
    """Says what moving from options to others costs, whatever the tempo.

    What the table says of some options and others is kept in memory for the next time; only one
    thread may ask at a time. `times_s` is how long each measured way takes, in seconds.
    """

    def __init__(
        self, kind_id: str, layout: Layout, times_s: Mapping[tuple[Played, Played], float]
    ) -> None:
        self._kind_id, self._layout = kind_id, layout
        self.table = load_motion_table(kind_id, layout)
        self._times_s = times_s
        self._measured = find_measured_costs(self.table, times_s)
        self._measured_from = {first for first, _ in times_s}

    def prepare(self, notes: Sequence[PassageNote]) -> None:
        """Work out at once what the search will ask for."""
        pairs = [(one.options, two.options) for one, two in pairwise(notes)]
        for note in notes:
            if note.partners:
                pairs += [(note.options, note.partners), (note.partners, note.options)]
        if len(_GRIDS) > _GRIDS_KEPT:
            _GRIDS.clear()
        different = {(id(first), id(second)): (first, second) for first, second in pairs}
        fresh = [pair for pair in different.values() if self._mark(*pair) not in _GRIDS]
        self.table.prepare(
            (one.played, two.played) for first, second in fresh for one in first for two in second
        )

    def grid(self, first: Options, second: Options) -> Real:
        """Return what moving from each of some options to each of others costs."""
        mark = self._mark(first, second)
        if mark not in _GRIDS:
            costs = [[self.table.find(one, two).cost for two in mark[3]] for one in mark[2]]
            _GRIDS[mark] = np.array(costs)
        return self._put_measured(_GRIDS[mark], mark[2], mark[3])

    def _put_measured(
        self, judged: Real, first: tuple[Played, ...], second: tuple[Played, ...]
    ) -> Real:
        costs = judged
        for row, one in enumerate(first):
            if one not in self._measured_from:
                continue
            for column, two in enumerate(second):
                measured = self._measured.get((one, two))
                if measured is not None:
                    costs = judged.copy() if costs is judged else costs
                    costs[row, column] = measured
        return costs

    def cost(self, first: FingeringOption, second: FingeringOption) -> float:
        """Return what moving from one option to another costs."""
        measured = self._measured.get((first.played, second.played))
        return self.table.find(first.played, second.played).cost if measured is None else measured

    def find_time_s(self, first: FingeringOption, second: FingeringOption) -> float | None:
        """Return how long moving from one option to another takes; None where it is judged."""
        return self._times_s.get((first.played, second.played))

    def _mark(
        self, first: Options, second: Options
    ) -> tuple[str, Layout, tuple[Played, ...], tuple[Played, ...]]:
        before, after = (tuple(each.played for each in some) for some in (first, second))
        return self._kind_id, self._layout, before, after
