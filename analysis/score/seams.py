"""Seams of a part: transitions that repeats, endings and jumps make beside the order of bars.

Each bar is read once, in file order. A repeat leads from the last note before it to the first note
of where it goes back to; from the second ending on, the last note before the first ending leads to
the first note of each later one. Da capo, dal segno and coda lead likewise.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from fractions import Fraction

from analysis.notation.transcript import ScoreEvent
from analysis.score.parts import PartNote, PartSeam

_Place = tuple[int, Fraction]
_START: _Place = (0, Fraction(0))


class _Finder:
    """Finds the notes beside a place."""

    def __init__(self, notes: Sequence[PartNote]) -> None:
        self._notes = notes
        self._places = [(note.bar, note.onset) for note in notes]

    def before(self, place: _Place) -> int | None:
        """The last note that begins before a place."""
        at = bisect_left(self._places, place) - 1
        return at if at >= 0 else None

    def after(self, place: _Place) -> int | None:
        """The first note that begins at a place or after it."""
        at = bisect_left(self._places, place)
        return at if at < len(self._places) else None


def find_seams(notes: Sequence[PartNote], events: Sequence[ScoreEvent]) -> tuple[PartSeam, ...]:
    """Return the seams of a part, each once, in the order of the notes they lead from."""
    finder = _Finder(notes)
    seams: dict[tuple[int, int], PartSeam] = {}
    for from_place, to_place, reason in _find_jumps(events):
        from_note, to_note = finder.before(from_place), finder.after(to_place)
        if from_note is not None and to_note is not None and to_note != from_note + 1:
            seams.setdefault((from_note, to_note), PartSeam(from_note, to_note, reason))
    return tuple(seams[key] for key in sorted(seams))


def _find_jumps(events: Sequence[ScoreEvent]) -> Iterator[tuple[_Place, _Place, str]]:
    repeats = _Repeats()
    segno = _START
    to_coda: _Place | None = None
    for event in events:
        place = (event.bar, event.onset)
        if event.kind == "repeat":
            yield from repeats.take_repeat(place, event.value)
        elif event.kind == "ending":
            yield from repeats.take_ending(place, event.value)
        elif event.kind == "jump":
            if event.value == "segno":
                segno = place
            elif event.value == "tocoda":
                to_coda = place
            elif event.value == "coda" and to_coda is not None:
                yield to_coda, place, "coda"
            elif event.value == "dacapo":
                yield _end_of(place), _START, "da capo"
            elif event.value == "dalsegno":
                yield _end_of(place), segno, "dal segno"


class _Repeats:
    """Where repeats go back to, and from where later endings are reached."""

    def __init__(self) -> None:
        self._begin = _START
        self._first_ending: _Place | None = None
        self._ended = _START  # where the last ending stopped

    def take_repeat(self, place: _Place, direction: str) -> Iterator[tuple[_Place, _Place, str]]:
        if direction == "forward":
            self._begin, self._first_ending = place, None
        elif direction == "backward":
            if self._first_ending is not None and place > self._ended > self._first_ending:
                self._begin, self._first_ending = self._ended, None  # the endings are over
            yield place, self._begin, "repeat"
            if self._first_ending is None:
                self._begin = place

    def take_ending(self, place: _Place, words: str) -> Iterator[tuple[_Place, _Place, str]]:
        kind, _, numbers = words.partition(" ")
        if kind != "start":
            self._ended = place
        elif self._first_ending is None or numbers.strip().startswith("1"):
            if self._first_ending is not None:
                self._begin = self._ended
            self._first_ending = place
        else:
            yield self._first_ending, place, "next ending"


def _end_of(place: _Place) -> _Place:
    """The end of the bar: words such as da capo stand anywhere in the bar that they end."""
    return (place[0] + 1, Fraction(0))
