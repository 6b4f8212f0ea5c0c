"""Motion between fingerings of a passage, by the table of their instrument; kept in memory."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.keywork import Layout
from analysis.planning import FingeringOption, PassageNote, Played, load_motion_table

Options = tuple[FingeringOption, ...]
Real = NDArray[np.float64]

_GRIDS_KEPT = 20_000
_GRIDS: dict[tuple[str, Layout, tuple[Played, ...], tuple[Played, ...]], Real] = {}


class MoveCosts:
    """Says what moving from options to others costs, whatever the tempo.

    What the table says of some options and others is kept in memory for the next time; only one
    thread may ask at a time.
    """

    def __init__(self, kind_id: str, layout: Layout) -> None:
        self._kind_id, self._layout = kind_id, layout
        self.table = load_motion_table(kind_id, layout)

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
        return _GRIDS[mark]

    def cost(self, first: FingeringOption, second: FingeringOption) -> float:
        """Return what moving from one option to another costs."""
        return self.table.find(first.played, second.played).cost

    def _mark(
        self, first: Options, second: Options
    ) -> tuple[str, Layout, tuple[Played, ...], tuple[Played, ...]]:
        before, after = (tuple(each.played for each in some) for some in (first, second))
        return self._kind_id, self._layout, before, after
