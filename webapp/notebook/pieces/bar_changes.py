"""Changes between two readings of a part, bar by bar, and where each earlier bar is now.

Pure. Bars are the same where their notes are; what lies between same bars was changed, added or
taken out. A sequence of equal bars is aligned as `difflib` does, common beginnings and ends first.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import takewhile, zip_longest

from analysis.score import PartNote, ScorePart

BarFacts = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class BarChange:
    """A bar that is not as it was: its number then and now, '' where it is not there at all."""

    label_before: str
    label_now: str
    before: tuple[PartNote, ...]
    now: tuple[PartNote, ...]

    @property
    def is_added(self) -> bool:
        """Whether it was not there."""
        return not self.label_before

    @property
    def is_removed(self) -> bool:
        """Whether it is no longer there."""
        return not self.label_now


@dataclass(frozen=True, slots=True)
class BarComparison:
    """Changes in words, and the index now of each earlier bar that is still there."""

    changes: tuple[BarChange, ...]
    index_now: Mapping[int, int]


def compare_bars(before: ScorePart, now: ScorePart) -> BarComparison:
    """Compare two readings of a part."""
    notes_before, notes_now = _gather(before), _gather(now)
    facts_before = [tuple(map(_facts_of, notes)) for notes in notes_before]
    facts_now = [tuple(map(_facts_of, notes)) for notes in notes_now]
    changes, index_now = [], {}
    for kind, (low, high), (new_low, new_high) in _align(facts_before, facts_now):
        for old, new in zip_longest(range(low, high), range(new_low, new_high)):
            if old is not None and new is not None:
                index_now[old] = new
            if kind != "equal":
                changes.append(
                    BarChange(
                        _label(before, old),
                        _label(now, new),
                        () if old is None else notes_before[old],
                        () if new is None else notes_now[new],
                    )
                )
    return BarComparison(tuple(changes), index_now)


def _label(part: ScorePart, index: int | None) -> str:
    return "" if index is None else part.bars[index].label or f"({index + 1})"


def _gather(part: ScorePart) -> list[tuple[PartNote, ...]]:
    bars: list[list[PartNote]] = [[] for _ in part.bars]
    for note in part.notes:
        bars[note.bar].append(note)
    return [tuple(notes) for notes in bars]


def _facts_of(note: PartNote) -> BarFacts:
    return (
        note.onset, note.duration, note.written, note.chord, note.is_slurred, note.is_grace,
        note.trill_kind, note.trill_to, note.fingerings, note.techniques, note.dynamic,
    )  # fmt: skip


def _align(
    before: Sequence[BarFacts], now: Sequence[BarFacts]
) -> Iterator[tuple[str, tuple[int, int], tuple[int, int]]]:
    """Give stretches of equal and of other bars: their kind, and from and to on both sides."""
    pairs = zip(before, now, strict=False)
    start = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
    most = min(len(before), len(now)) - start
    ends = zip(reversed(before), reversed(now), strict=False)
    end = min(most, sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], ends)))
    middle = SequenceMatcher(None, before[start : len(before) - end], now[start : len(now) - end])
    yield "equal", (0, start), (0, start)
    for kind, low, high, new_low, new_high in middle.get_opcodes():
        yield kind, (start + low, start + high), (start + new_low, start + new_high)
    yield "equal", (len(before) - end, len(before)), (len(now) - end, len(now))
