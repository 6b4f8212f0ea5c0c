"""Facts of many fingerings of one instrument in the orders in which judging looks things up.

Putting a large notebook in order takes longer than looking up a note, so it is done once for all
that is known and kept with it; what passes a filter keeps its order.
"""

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.merit import find_grades


@dataclass(frozen=True)
class OrderedFacts:
    """Facts by where they sound, and their places in other orders.

    Attributes:
        known: the facts by sounding cents, those as high by number; n rows.
        by_target: places in `known` by the cents of the target, shape (n,).
        by_number: places in `known` by the number of the fingering, shape (n,).
        grades: what they are chosen by among equals, shape (n,), from `find_grades`.
    """

    known: FactColumns
    by_target: NDArray[np.intp]
    by_number: NDArray[np.intp]
    grades: NDArray[np.int64]

    @classmethod
    def of(cls, found: FactColumns) -> "OrderedFacts":
        """Put facts in order."""
        known = found.take(np.lexsort((found.numbers, found.column("sounding_cents"))))
        by_target = np.argsort(known.column("target_cents"), kind="stable")
        return cls(known, by_target, np.argsort(known.numbers), find_grades(known))

    def __len__(self) -> int:
        """How many fingerings there are."""
        return len(self.known)

    @cached_property
    def sounds(self) -> NDArray[np.float64]:
        """Sounding cents, rising, shape (n,)."""
        return self.known.column("sounding_cents")

    @cached_property
    def targets(self) -> NDArray[np.float64]:
        """Cents of the targets, rising, shape (n,), as `by_target` goes through the facts."""
        return self.known.column("target_cents")[self.by_target]

    @cached_property
    def _sorted_numbers(self) -> NDArray[np.int64]:
        return self.known.numbers[self.by_number]

    def places_of(self, numbers: Collection[int]) -> NDArray[np.intp]:
        """Return the places in `known` of the fingerings of some numbers, as far as they are there.

        Those that are not are left out.
        """
        wanted = np.fromiter(numbers, dtype=np.int64, count=len(numbers))
        ends = np.searchsorted(self._sorted_numbers, wanted)
        is_inside = ends < len(self)
        wanted, ends = wanted[is_inside], ends[is_inside]
        found: NDArray[np.intp] = self.by_number[ends[self._sorted_numbers[ends] == wanted]]
        return found

    def choose(self, is_chosen: NDArray[np.bool_]) -> "OrderedFacts":
        """Return some of the facts in the same orders.

        Args:
            is_chosen: shape (n,), by the places in `known`.
        """
        new_places = np.cumsum(is_chosen) - 1
        return OrderedFacts(
            self.known.take(np.flatnonzero(is_chosen)),
            new_places[self.by_target[is_chosen[self.by_target]]],
            new_places[self.by_number[is_chosen[self.by_number]]],
            self.grades[is_chosen],
        )
