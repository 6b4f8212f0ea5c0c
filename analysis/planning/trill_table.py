"""Trills and tremolos of a whole range, by cost and evidence: what a composer may ask for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import product

from analysis.finder.results import WORTH_TRYING
from analysis.pitch import WrittenPitch
from analysis.planning.motion_cost import MotionTable, Played
from analysis.planning.passage_costs import Backing
from analysis.planning.playable import Playable
from analysis.planning.trills import RankedPair, rank_pairs

INTERVALS_CENTS = (50, 100, 150, 200, 250, 300)
# There and back: three fingers that move together, or one that jumps. Judgement.
_WELL_COST = 6.0


class TrillGrade(StrEnum):
    """How well a pair goes as a trill or tremolo."""

    ONE_FINGER = "one finger"
    CARE = "takes some care"
    AWKWARD = "awkward"


@dataclass(frozen=True, slots=True)
class TrillStep:
    """The best pair for a trill from a note upwards; None where there is none."""

    lower: WrittenPitch
    interval_cents: int
    pair: RankedPair | None

    @property
    def upper(self) -> WrittenPitch:
        """The other note."""
        return WrittenPitch.from_cents(self.lower.cents + self.interval_cents)

    @property
    def grade(self) -> TrillGrade | None:
        """How well it goes."""
        if self.pair is None:
            return None
        if self.pair.cost.is_one_finger:
            return TrillGrade.ONE_FINGER
        is_well = self.pair.cost.cost <= _WELL_COST
        return TrillGrade.CARE if is_well else TrillGrade.AWKWARD

    @property
    def is_measured(self) -> bool:
        """Whether each of its notes is measured or ordinary."""
        known = (Backing.MEASURED, Backing.ORDINARY)
        pair = self.pair
        return pair is not None and pair.lower.backing in known and pair.upper.backing in known


def tabulate_trills(
    table: MotionTable,
    choices: Mapping[Fraction, Sequence[Playable]],
    notes: Sequence[WrittenPitch],
    *,
    intervals_cents: Sequence[int] = INTERVALS_CENTS,
    report: Callable[[float], None] = lambda share: None,
) -> tuple[TrillStep, ...]:
    """Find the best pair for each note and interval.

    Args:
        table: motions on the layout.
        choices: what can be played for each note, by its written cents.
        notes: the lower notes, written, rising.
        intervals_cents: from each of them upwards.
        report: is told the share of the notes that is done, 0 to 1.

    Returns:
        For each note its intervals in their order. A pair of which a note is hardly in tune
        counts for none.
    """
    by_cents = {note.cents: note for note in notes}
    table.prepare(_list_ways(choices, notes, intervals_cents))
    found = []
    for number, lower in enumerate(notes, start=1):
        for interval in intervals_cents:
            upper = by_cents.get(lower.cents + interval)
            pair = None if upper is None else _find_best(table, choices, lower, upper)
            found.append(TrillStep(lower, interval, pair))
        report(number / len(notes))
    return tuple(found)


def _list_ways(
    choices: Mapping[Fraction, Sequence[Playable]],
    notes: Sequence[WrittenPitch],
    intervals_cents: Sequence[int],
) -> list[tuple[Played, Played]]:
    ways = []
    for lower, interval in product(notes, intervals_cents):
        upper_cents = lower.cents + interval
        for low, high in product(choices.get(lower.cents, ()), choices.get(upper_cents, ())):
            one = Played(low.fingering, float(lower.cents))
            other = Played(high.fingering, float(upper_cents))
            ways += [(one, other), (other, one)]
    return ways


def _find_best(
    table: MotionTable,
    choices: Mapping[Fraction, Sequence[Playable]],
    lower: WrittenPitch,
    upper: WrittenPitch,
) -> RankedPair | None:
    pairs = list(product(choices.get(lower.cents, ()), choices.get(upper.cents, ())))
    ranked = rank_pairs(table, lower, upper, pairs)
    return next((pair for pair in ranked if pair.chance >= WORTH_TRYING), None)
