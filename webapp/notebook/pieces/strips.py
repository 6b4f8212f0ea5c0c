"""Sheet of a piece as engraved strips: which bars are hard, and what stands above their notes.

A bar is hard where a note of it needs thought. Hard bars that follow each other, or leave one bar
between them, are an excerpt; a long excerpt is cut so that each part fits a page with its drawings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from analysis.engraving import LineBar, LineNote, NoteLine, NoteRoom, SignRoom
from analysis.keywork import KeyStates
from analysis.pitch import WrittenPitch, write_accidental
from analysis.score import PartNote, ScorePart, TrillKind
from webapp.drawing.engraved_strip import Codepoints
from webapp.notebook.charts.pdf.bars import find_letters
from webapp.notebook.charts.pdf.prose import clean_line
from webapp.notebook.charts.pdf.strips import Excerpt, StripMark
from webapp.notebook.pieces.places import list_written
from webapp.notebook.pieces.sheet import (
    Judgement,
    SheetPlace,
    find_bar_words,
    list_sheet_places,
    read_sheet_keys,
)
from webapp.notebook.preferences.preferences import Writing

MOST_BARS, MOST_MARKS = 8, 24

Pitches = Mapping[int, tuple[WrittenPitch, ...]]
_SHORT_WORDS = 3  # as wide as a letter: a figure in cents


def compose_excerpts(judgements: Sequence[Judgement], writing: Writing) -> tuple[Excerpt, ...]:
    """Say what the strips of a part consist of, in the order of its bars."""
    part = judgements[0][0].part
    places = list_sheet_places(judgements)
    by_bar: dict[int, list[SheetPlace]] = {}
    for place in places:
        by_bar.setdefault(place.note.bar, []).append(place)
    keys = {id(place): read_sheet_keys(place) for place in places}
    letters = find_letters(keys[id(place)] for place in places)
    composer = _Composer(part, _find_pitches(judgements), writing, by_bar, keys, letters)
    return tuple(composer.compose(bars) for bars in _cut_excerpts(by_bar))


def _find_pitches(judgements: Sequence[Judgement]) -> Pitches:
    """Return the notes of a part as they are written for its instruments, by their index."""
    found: dict[int, tuple[WrittenPitch, ...]] = {}
    for todo, _ in judgements:
        line = list_written(todo.part, todo.instrument.transposition)
        found.update({note.index: (pitch,) for note, pitch in line})
    for place in list_sheet_places(judgements):
        if len(place.pitches) > 1:
            found[place.note.index] = place.pitches
    return found


def _cut_excerpts(by_bar: Mapping[int, Sequence[SheetPlace]]) -> Iterator[range]:
    """Cut the hard bars into excerpts, each a range of the indices of bars."""
    first = last = -1
    marks = 0
    for bar in sorted(by_bar):
        is_near = first >= 0 and bar - last <= 2
        fits = bar - first < MOST_BARS and marks + len(by_bar[bar]) <= MOST_MARKS
        if first >= 0 and not (is_near and fits):
            yield range(first, last + 1)
            first, marks = -1, 0
        first = bar if first < 0 else first
        last, marks = bar, marks + len(by_bar[bar])
    if first >= 0:
        yield range(first, last + 1)


class _Composer:
    """Composes the excerpts of one part."""

    def __init__(
        self,
        part: ScorePart,
        pitches: Pitches,
        writing: Writing,
        by_bar: Mapping[int, Sequence[SheetPlace]],
        keys: Mapping[int, KeyStates | None],
        letters: Mapping[KeyStates, str],
    ) -> None:
        self.part = part
        self.pitches = pitches
        self.writing = writing
        self.by_bar = by_bar
        self.keys = keys
        self.letters = letters
        self.words = find_bar_words(part)

    def compose(self, bars: range) -> Excerpt:
        """Compose one excerpt."""
        notes = [note for note in self.part.notes if note.bar in bars]
        marks = self._mark(bars)
        signs: dict[str, tuple[Codepoints, ...]] = {}
        lines, level = [], ""
        for bar in bars:
            in_force: set[tuple[str, int]] = set()
            made = []
            for note in (each for each in notes if each.bar == bar):
                signs[_key(note)] = self._sign(note, in_force)
                line_note = self._make_note(note, signs[_key(note)], marks.get(_key(note), ()))
                made.append(
                    replace(line_note, dynamic=note.dynamic if note.dynamic != level else "")
                )
                level = note.dynamic or level
            here = self.part.bars[bar]
            label = clean_line(here.label, longest=6) or f"({bar + 1})"
            lines.append(LineBar(here.length or Fraction(4), tuple(made), label))
        clef = next((place.instrument.kind.clef for place in self._places(bars)), "treble")
        return Excerpt(
            NoteLine(tuple(lines), clef),
            signs,
            marks,
            "; ".join(dict.fromkeys(self.words[bar] for bar in bars if bar in self.words)),
        )

    def _places(self, bars: range) -> Iterator[SheetPlace]:
        return (place for bar in bars for place in self.by_bar.get(bar, ()))

    def _written(self, note: PartNote) -> tuple[WrittenPitch, ...]:
        return self.pitches.get(note.index, note.chord or (note.written,))

    def _mark(self, bars: range) -> dict[str, tuple[StripMark, ...]]:
        """Say what stands above each note; a fingering is drawn where it comes first."""
        seen: set[KeyStates] = set()
        marks: dict[str, tuple[StripMark, ...]] = {}
        for place in self._places(bars):
            fingering = self.keys[id(place)]
            is_drawn = fingering is not None and fingering not in seen
            if fingering is not None:
                seen.add(fingering)
            mark = StripMark(
                place.pitches,
                place.bar_label,
                fingering,
                self.letters.get(fingering, "") if fingering is not None else "",
                is_drawn,
                f"tr {place.words}" if place.is_second else place.words,
                place.is_certain,
            )
            key = _key(place.note)
            marks[key] = (*marks.get(key, ()), mark)
        return marks

    def _sign(self, note: PartNote, in_force: set[tuple[str, int]]) -> tuple[Codepoints, ...]:
        """Find the signs of a note: each altered note has one, and a natural after it, too."""
        found = []
        for pitch in self._written(note):
            at = (pitch.letter, pitch.octave)
            sign = write_accidental(pitch, self.writing.accidentals)
            is_cancelled = at in in_force and not sign.is_shown
            codepoints = sign.codepoints if sign.is_shown or is_cancelled else ()
            found.append(codepoints)
            (in_force.add if sign.is_shown else in_force.discard)(at)
        return tuple(found)

    def _make_note(
        self, note: PartNote, signs: Sequence[Codepoints], marks: Sequence[StripMark]
    ) -> LineNote:
        drawn = sum(mark.is_drawn for mark in marks)
        room = NoteRoom.DRAWING if drawn == 1 else NoteRoom.TWO_DRAWINGS if drawn else NoteRoom.NONE
        if marks and not drawn:
            is_short = all(len(mark.words) <= _SHORT_WORDS for mark in marks)
            room = NoteRoom.LETTER if is_short else NoteRoom.WORDS
        written = self._written(note)
        figures = (write_accidental(each, self.writing.accidentals).figure for each in written)
        return LineNote(
            key=_key(note),
            onset=note.onset,
            duration=note.duration,
            places=tuple((each.letter, each.octave) for each in written),
            signs=tuple(_find_room(len(each)) for each in signs),
            room=room,
            is_slurred=note.is_slurred,
            articulations=note.articulations,
            mark="trill" if note.trill_kind is TrillKind.TRILL else note.trill_kind or "",
            figure=" ".join(filter(None, figures)),
            has_fermata=note.has_fermata,
        )


def _key(note: PartNote) -> str:
    return f"n{note.index}"


def _find_room(sign_count: int) -> SignRoom:
    return (SignRoom.NONE, SignRoom.ONE, SignRoom.TWO)[min(sign_count, 2)]
