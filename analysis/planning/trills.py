"""Pair cost of trills and tremolos: the motion both ways, one finger before several.

A trill repeats one motion many times a second, so what counts is how few fingers do it and whether
any has to slide or jump; a blip in between is heard each time.
"""

from __future__ import annotations

from dataclasses import dataclass

from analysis.planning.motion_cost import MotionTable, Played, Transition


@dataclass(frozen=True, slots=True)
class PairCost:
    """What going back and forth between two played notes costs."""

    there: Transition
    back: Transition

    @property
    def finger_count(self) -> int:
        """How many fingers do it."""
        return self.there.finger_count

    @property
    def is_one_finger(self) -> bool:
        """Whether one finger alone goes down and up, and neither slides nor jumps."""
        return self.there.finger_count == 1 and self.there.motion == self.back.motion == 1.0

    @property
    def cost(self) -> float:
        """The cost of the way there and of the way back."""
        return self.there.cost + self.back.cost

    @property
    def order(self) -> tuple[bool, float]:
        """What pairs are put in order by, lowest first: one finger before several, then cost."""
        return (not self.is_one_finger, self.cost)


def find_pair_cost(table: MotionTable, lower: Played, upper: Played) -> PairCost:
    """Find what a trill or tremolo between two played notes costs."""
    table.prepare([(lower, upper), (upper, lower)])
    return PairCost(table.find(lower, upper), table.find(upper, lower))
