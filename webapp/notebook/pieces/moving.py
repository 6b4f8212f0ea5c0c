"""Motion between fingerings: a recorded loop where there is one, else the judgement of a table."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from analysis.keywork import KeyStates
from analysis.planning import FingeringOption, MotionTable, PassageNote

MeasuredMoves = Mapping[tuple[KeyStates, KeyStates], float]
"""What moving costs where a recorded loop has measured it, by the fingerings in their order."""


class MoveCosts:
    """Says what moving from one option to another costs, whatever the tempo."""

    def __init__(self, table: MotionTable, measured: MeasuredMoves) -> None:
        self.table = table
        self._measured = measured

    def prepare(self, notes: Sequence[PassageNote]) -> None:
        """Work out at once what the search will ask for."""
        pairs = [(one.options, two.options) for one, two in pairwise(notes)]
        for note in notes:
            if note.partners:
                pairs += [(note.options, note.partners), (note.partners, note.options)]
        different = {(id(first), id(second)): (first, second) for first, second in pairs}
        self.table.prepare(
            (one.played, two.played)
            for first, second in different.values()
            for one in first
            for two in second
        )

    def cost(self, first: FingeringOption, second: FingeringOption) -> float:
        """Return what moving from one to the other costs."""
        measured = self._measured.get((first.fingering, second.fingering))
        return self.table.find(first.played, second.played).cost if measured is None else measured
