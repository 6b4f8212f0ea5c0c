"""Answer of the judge to a note: ranked, history and silent, worked out as far as it is asked."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.pitch import Sentence
from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.merit import Merits, explain_first, find_merits, sort_by
from webapp.notebook.targets.standing import STANDINGS, Judged, Note, Stance, Standing, Word

Places = NDArray[np.intp]
"""Rows of facts, shape (n,)."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """What was looked at for a note: facts, how each stands, what decides the order, the words.

    `standings` holds places in `STANDINGS`, shape (n,); `words` the player's, by row.
    """

    note: Note
    known: FactColumns
    grades: NDArray[np.int64]
    standings: NDArray[np.int8]
    words: Mapping[int, Word]

    def judged(self, place: int) -> Judged:
        """Return one fingering as it stands to the note."""
        facts = self.known.facts(place)
        offset = facts.sounding_cents - self.note.sounding.cents if facts.is_measured else None
        return Judged(facts, STANDINGS[self.standings[place]], offset, self.words.get(place))

    def rank(self, places: Places) -> Places:
        """Return some rows in the order of merit."""
        return places if len(places) < 2 else places[sort_by(self._find_merits(places))]

    def list_merits(self, places: Places) -> list[tuple[float, ...]]:
        """Return what sorts some rows, each as a tuple."""
        return list(zip(*(each.tolist() for each in self._find_merits(places)), strict=True))

    def _find_merits(self, places: Places) -> Merits:
        words = words_by_row(self.words, places.tolist())
        known, standings = self.known.take(places), self.standings[places]
        return find_merits(known, standings, words, self.note, self.grades[places])

    def sort_alike(self, places: Places) -> Iterator[tuple[Stance, int]]:
        """Go through some rows, those that stand alike together; with each how many they are.

        What the player said something of stands for itself.
        """
        if self.words:
            is_said = np.array([place in self.words for place in places], dtype=bool)
            for place in places[is_said]:
                yield Stance(STANDINGS[self.standings[place]], self.words[place]), 1
            places = places[~is_said]
        counts = np.bincount(self.standings[places], minlength=len(STANDINGS))
        for standing, count in zip(STANDINGS, counts.tolist(), strict=True):
            if count:
                yield Stance(standing), count


class Part(Enum):
    """What an answer tells apart."""

    RANKED = "what may be played for the note, and what a wider look adds"
    HISTORY = "what was logged for it and sounds elsewhere"
    SILENT = "what was logged for it, or as near as the look is wide, and does not speak"


class NoteAnswer:
    """What the notebook has for a note on one instrument.

    What is asked of it is worked out then: a page of a whole range asks every note for its best
    only. `remarks` say what has become of the player's choices.
    """

    def __init__(
        self, hearing: Hearing, parts: Mapping[Part, Places], remarks: tuple[Sentence, ...]
    ) -> None:
        self.note = hearing.note
        self.remarks = remarks
        self._hearing = hearing
        self._parts = parts
        self._orders: dict[Part, Places] = {}

    def order(self, part: Part) -> Places:
        """Return the places of a part, the best first; `judged` tells what stands there."""
        if part not in self._orders:
            self._orders[part] = self._hearing.rank(self._parts[part])
        return self._orders[part]

    def merits(self, part: Part) -> list[tuple[float, ...]]:
        """Return what sorts a part, in its order, to be brought into one order with others."""
        return self._hearing.list_merits(self.order(part))

    def judged(self, place: int) -> Judged:
        """Return how the fingering at a place stands to the note."""
        return self._hearing.judged(place)

    def find(self, fingering_id: int) -> Judged | None:
        """Return how one fingering stands to the note, if it belongs to the answer."""
        places = np.flatnonzero(self._hearing.known.numbers == fingering_id)
        is_there = any(np.isin(places, part).any() for part in self._parts.values())
        return self.judged(int(places[0])) if is_there else None

    @cached_property
    def ranked(self) -> tuple[Judged, ...]:
        """What may be played for it and what a wider look adds, the best first."""
        return tuple(map(self.judged, self.order(Part.RANKED)))

    @cached_property
    def history(self) -> tuple[Judged, ...]:
        """What was logged for it and sounds elsewhere, the nearest first."""
        return tuple(map(self.judged, self.order(Part.HISTORY)))

    @cached_property
    def silent(self) -> tuple[Judged, ...]:
        """What was logged for it, or as near as the look is wide, and does not speak."""
        return tuple(map(self.judged, self.order(Part.SILENT)))

    @cached_property
    def elsewhere(self) -> Judged | None:
        """The first that sounds too far off for the note, unless the player rejected it."""
        for part in (Part.RANKED, Part.HISTORY):
            for place in self.order(part):
                each = self.judged(place)
                if each.standing is Standing.ELSEWHERE and not each.is_rejected:
                    return each
        return None

    @cached_property
    def best(self) -> Judged | None:
        """The first that may be played for the note, or None where there is none."""
        order = self.order(Part.RANKED)
        first = self.judged(order[0]) if len(order) else None
        return first if first is not None and first.is_serving else None

    @cached_property
    def reason(self) -> str:
        """Why the first is first, in a few words."""
        in_tune = sum(count for each, count in self._alike if each.standing is Standing.IN_TUNE)
        first_two = [self.judged(place) for place in self.order(Part.RANKED)[:2]]
        return explain_first(first_two, self.note, in_tune)

    @cached_property
    def _alike(self) -> list[tuple[Stance, int]]:
        return list(self._hearing.sort_alike(self._parts[Part.RANKED]))

    @property
    def is_solved(self) -> bool:
        """Whether the note is solved: something is in tune, or the player's own is near."""
        return any(each.is_solution for each, _ in self._alike)

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is known for it."""
        return not any(len(places) for places in self._parts.values())

    @property
    def serving(self) -> tuple[Judged, ...]:
        """What may be played for the note, rejected ones left out."""
        return tuple(each for each in self.ranked if each.is_serving)

    @property
    def serving_count(self) -> int:
        """How many may be played for the note."""
        return sum(count for each, count in self._alike if each.is_serving)

    @property
    def rejected_count(self) -> int:
        """How many of the ranked ones the player does not want for it."""
        return sum(count for each, count in self._alike if each.is_rejected)

    @property
    def silent_count(self) -> int:
        """How many do not speak."""
        return len(self._parts[Part.SILENT])


def words_by_row(words: Mapping[int, Word], keys: Sequence[int]) -> dict[int, Word]:
    """Return the words that are there for some keys, by the row of the key."""
    if not words:
        return {}
    return {row: words[key] for row, key in enumerate(keys) if key in words}
