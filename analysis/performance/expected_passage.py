"""Passage to be matched: its notes as they are expected to sound, and the tempo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

GRACE_S = 0.09
LEAST_STEP_CENTS = (25.0, 100.0)
SAME_CENTS = 8.0


@dataclass(frozen=True, slots=True)
class ExpectedNote:
    """One note of a passage.

    `height_cents` is where it is expected to sound (A4 = 6900): where its fingering sounds held, if
    that is known, else as written; None where no pitch can be expected (a multiphonic).
    `other_cents` is the other note of a trill or tremolo. `onset` and `length` are in quarter notes
    from the start of the passage; a grace note has length 0. `begins_bar`: players begin again
    there.
    """

    height_cents: float | None
    onset: float
    length: float
    other_cents: float | None = None
    begins_bar: bool = False

    @property
    def is_grace(self) -> bool:
        """Whether it has no time of its own."""
        return self.length == 0


@dataclass(frozen=True, slots=True)
class ExpectedPassage:
    """Notes in their order, how long a quarter note lasts, and the seams.

    `seams` lead from a note to the one that may follow it beside the order (a repeat), as indices.
    """

    notes: tuple[ExpectedNote, ...]
    quarter_s: float
    seams: tuple[tuple[int, int], ...] = ()

    def find_steps_s(self) -> tuple[float, ...]:
        """Time from the onset of each note to that of the next; of the last, its length."""
        notes = self.notes
        steps = [(after.onset - note.onset) * self.quarter_s for note, after in pairwise(notes)]
        steps.append(notes[-1].length * self.quarter_s)
        return tuple(max(each, GRACE_S) for each in steps)

    @property
    def heights_cents(self) -> tuple[float, ...]:
        """All heights that are expected in it."""
        wanted = [each.height_cents for each in self.notes]
        wanted += [each.other_cents for each in self.notes]
        return tuple(each for each in wanted if each is not None)

    def find_least_step_cents(self) -> float:
        """The smallest step between neighbours, within what can be told apart."""
        heights = [each.height_cents for each in self.notes if each.height_cents is not None]
        pairs = list(pairwise(heights))
        pairs += [
            (each.height_cents, each.other_cents)
            for each in self.notes
            if each.height_cents is not None and each.other_cents is not None
        ]
        return _find_least(pairs)


def _find_least(pairs: Sequence[tuple[float, float]]) -> float:
    steps = [abs(one - other) for one, other in pairs if abs(one - other) > SAME_CENTS]
    return min(
        max(min(steps, default=LEAST_STEP_CENTS[1]), LEAST_STEP_CENTS[0]), LEAST_STEP_CENTS[1]
    )
