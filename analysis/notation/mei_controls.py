"""Reader of what stands beside the layers of an MEI bar: slurs, ties, trills, words, dynamics.

Such elements name the notes they belong to by their ids, or a beat (`tstamp`, from 1 on).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from analysis.notation.mei_values import SIGNS, read_tempo, text_within
from analysis.notation.numbers import read_decimal
from analysis.notation.transcript import NoteHead, ScoreEvent
from analysis.notation.xml_items import Item

_TEXT_KINDS = {"dir": "words", "dynam": "dynamics", "tempo": "words"}
_MOST_BEATS = 1000


class ControlReader:
    """Reads control elements; `ids` are the notes of the staff by their ids, as they come."""

    def __init__(self, ids: dict[str, int]) -> None:
        self._ids = ids
        self._slurs: list[tuple[str, str]] = []
        self._ties: list[tuple[str, str]] = []
        self._changes: list[tuple[str, str, str]] = []  # id, field, value

    def read(
        self, measure: Item, bar: int, beat: Fraction, staff: str, notes: Sequence[NoteHead]
    ) -> Iterator[ScoreEvent]:
        """Return the events of a bar, and remember what belongs to notes."""
        for item in measure.children:
            start = item.attributes.get("startid", "").removeprefix("#")
            staves = item.attributes.get("staff", "").split()
            if item.tag == "staff" or (staves and staff not in staves):
                continue
            if start and not staves and start not in self._ids:
                continue  # it belongs to a note of another staff
            self._take_marks(item, start)
            kind = _TEXT_KINDS.get(item.tag)
            if kind is None:
                continue
            onset = self._find_onset(item, start, beat, bar, notes)
            tempo = read_tempo(item) if item.tag == "tempo" else None
            if tempo is not None:
                yield ScoreEvent(bar, onset, "tempo", str(tempo))
            words = text_within(item)
            if words:
                yield ScoreEvent(bar, onset, kind, words)

    def _take_marks(self, item: Item, start: str) -> None:
        end = item.attributes.get("endid", "").removeprefix("#")
        if item.tag == "slur" and start and end:
            self._slurs.append((start, end))
        elif item.tag == "tie" and start and end:
            self._ties.append((start, end))
        elif item.tag == "trill" and start:
            accid = item.attributes.get("accidupper", "")
            self._changes.append((start, "trill", SIGNS.get(accid, accid)))
        elif item.tag == "fermata" and start:
            self._changes.append((start, "fermata", ""))
        elif item.tag == "fing" and start:
            self._changes.append((start, "fing", text_within(item)))

    def _find_onset(
        self, item: Item, start: str, beat: Fraction, bar: int, notes: Sequence[NoteHead]
    ) -> Fraction:
        at = self._ids.get(start)
        if at is not None and notes[at].bar == bar:
            return notes[at].onset
        stamp = read_decimal(item.attributes.get("tstamp", ""))
        return (stamp - 1) * beat if stamp and 1 <= stamp <= _MOST_BEATS else Fraction(0)

    def mark(self, notes: Sequence[NoteHead]) -> list[NoteHead]:
        """Return the notes with all that belongs to them."""
        marked = list(notes)

        def add(identity: str, *, slur: str = "", marks: tuple[str, ...] = ()) -> None:
            at = self._ids.get(identity)
            if at is not None:
                found = marked[at]
                slurs = (*found.slurs, slur) if slur else found.slurs
                marked[at] = replace(
                    found, slurs=slurs, marks=tuple(sorted({*found.marks, *marks}))
                )

        for number, (start, end) in enumerate(self._slurs):
            if start in self._ids and end in self._ids:
                add(start, slur=f"start {number}")
                add(end, slur=f"stop {number}")
        for start, end in self._ties:
            add(start, marks=("tie-start",))
            add(end, marks=("tie-stop",))
        for identity, field, value in self._changes:
            at = self._ids.get(identity)
            if at is None:
                continue
            if field == "fing":
                marked[at] = replace(marked[at], fingerings=(*marked[at].fingerings, value))
                continue
            add(identity, marks=(field,))
            if value:
                marked[at] = replace(marked[at], trill_sign=value)
        return marked
