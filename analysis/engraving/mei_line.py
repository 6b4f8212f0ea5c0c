"""MEI of a line of notes: the notation the engraver is given, written by us from start to end.

Source: Music Encoding Initiative, guidelines 5, elements measure, note, chord, tuplet, beam, slur.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from analysis.engraving.line import LineBar, LineNote, NoteLine, NoteRoom
from analysis.engraving.note_values import (
    NoteValue,
    Sounding,
    UnwrittenRhythm,
    ValueGroup,
    choose_beat,
    fill_bar,
    write_values,
)

NAMESPACE = "http://www.music-encoding.org/ns/mei"
_ID = "{http://www.w3.org/XML/1998/namespace}id"
_CLEFS = {"treble": ("G", "2"), "bass": ("F", "4")}
# Syllables keep notes apart, and are taken out of the picture again.
_SYLLABLES = {
    NoteRoom.LETTER: "W" * 3,
    NoteRoom.WORDS: "W" * 4,
    NoteRoom.DRAWING: "W" * 5,
    NoteRoom.TWO_DRAWINGS: "W" * 10,
}
_ARTICULATIONS = {
    "staccato": "stacc", "accent": "acc", "tenuto": "ten", "strong-accent": "marc",
    "staccatissimo": "stacciss",
}  # fmt: skip
_BEAMED_FROM = 8


def write_mei(line: NoteLine) -> str:
    """Write a line as MEI text."""
    root = ET.Element("mei", xmlns=NAMESPACE)
    score = _within(root, "music", "body", "mdiv", "score")
    shape, place = _CLEFS[line.clef]
    staves = ET.SubElement(ET.SubElement(score, "scoreDef"), "staffGrp")
    ET.SubElement(
        staves, "staffDef", {"n": "1", "lines": "5", "clef.shape": shape, "clef.line": place}
    )
    section = ET.SubElement(score, "section")
    carried: Sounding | None = None
    notes = [note for bar in line.bars for note in bar.notes]
    places = {note.key: place for place, note in enumerate(notes)}
    writer = _BarWriter(notes)
    for number, bar in enumerate(line.bars):
        measure = ET.SubElement(section, "measure", {"n": str(number + 1), _ID: f"bar{number}"})
        sounding = [] if carried is None else [carried]
        sounding += [Sounding(places[each.key], each.onset, each.duration) for each in bar.notes]
        carried = writer.write_bar(measure, sounding, bar)
        if bar.label:
            ET.SubElement(measure, "reh", {"tstamp": "0", "staff": "1"}).text = bar.label
    writer.write_slurs()
    return ET.tostring(root, encoding="unicode")


def _within(parent: ET.Element, *names: str) -> ET.Element:
    for name in names:
        parent = ET.SubElement(parent, name)
    return parent


class _BarWriter:
    """Writes bars one after the other; ties and slurs are named by the notes they join."""

    def __init__(self, notes: Sequence[LineNote]) -> None:
        self.notes = notes
        self.heads: dict[int, list[str]] = {}  # the written heads of each note, by its place
        self.measures: dict[int, ET.Element] = {}  # the measure in which each note begins

    def write_bar(
        self, measure: ET.Element, sounding: Sequence[Sounding], bar: LineBar
    ) -> Sounding | None:
        """Write a bar; return what sounds on into the next one."""
        layer = ET.SubElement(ET.SubElement(measure, "staff", n="1"), "layer", n="1")
        graces = [each for each in sounding if not each.duration]
        held = [each for each in sounding if each.duration]
        here = [_cut(each, bar.length) for each in held]
        try:
            filled = fill_bar(here, bar.length)
            groups = write_values(filled)
        except UnwrittenRhythm:
            for each in sounding:
                self._write_head(layer, measure, each.note, base=4, dots=0, is_bare=True)
        else:
            beat = choose_beat(filled, bar.length)
            for parent, values in self._open_groups(layer, groups, beat):
                for value in values:
                    self._write_graces(parent, measure, graces, value.start)
                    self._write_value(parent, measure, value)
            self._write_graces(layer, measure, graces, bar.length)
        last = held[-1] if held else None
        if last is None or last.end <= bar.length or last.note is None:
            return None
        return Sounding(last.note, Fraction(0), last.end - bar.length)

    def _open_groups(
        self, layer: ET.Element, groups: Sequence[ValueGroup], beat: Fraction
    ) -> Iterator[tuple[ET.Element, Sequence[NoteValue]]]:
        """Give the element that each run of values goes into: the layer, a tuplet, a beam."""
        for is_tuplet, run in groupby(groups, key=lambda group: group.count > 1):
            if not is_tuplet:
                values = [value for group in run for value in group.values]
                yield from _cut_beams(layer, values, beat)
                continue
            for group in run:
                ratio = {"num": str(group.count), "numbase": str(group.base)}
                tuplet = ET.SubElement(layer, "tuplet", ratio)
                yield from _cut_beams(tuplet, group.values, beat)

    def _write_graces(
        self, parent: ET.Element, measure: ET.Element, graces: list[Sounding], until: Fraction
    ) -> None:
        while graces and graces[0].start <= until:
            self._write_head(parent, measure, graces.pop(0).note, base=8, dots=0, is_grace=True)

    def _write_value(self, parent: ET.Element, measure: ET.Element, value: NoteValue) -> None:
        if value.note is None:
            ET.SubElement(parent, "rest", dur=str(value.base), dots=str(value.dots))
        else:
            self._write_head(parent, measure, value.note, base=value.base, dots=value.dots)

    def _write_head(
        self,
        parent: ET.Element,
        measure: ET.Element,
        place: int | None,
        *,
        base: int,
        dots: int,
        is_grace: bool = False,
        is_bare: bool = False,
    ) -> None:
        assert place is not None
        note = self.notes[place]
        heads = self.heads.setdefault(place, [])
        key = note.key if not heads else f"{note.key}t{len(heads)}"
        attributes = {_ID: key, "dur": str(base)} | ({"dots": str(dots)} if dots else {})
        if is_grace:
            attributes["grace"] = "unacc"
        if is_bare:
            attributes["stem.visible"] = "false"
        if len(note.places) > 1:
            written = ET.SubElement(parent, "chord", attributes)
            for number, (letter, octave) in enumerate(note.places):
                one = {_ID: f"{key}h{number}", "pname": letter.lower(), "oct": str(octave)}
                self._write_sign(ET.SubElement(written, "note", one), note, number, bool(heads))
        else:
            letter, octave = note.places[0]
            at = {"pname": letter.lower(), "oct": str(octave)}
            written = ET.SubElement(parent, "note", attributes | at)
            self._write_sign(written, note, 0, bool(heads))
        if heads:
            ET.SubElement(measure, "tie", startid=f"#{heads[-1]}", endid=f"#{key}")
        else:
            self.measures[place] = measure
            self._write_marks(written, measure, note)
        heads.append(key)

    @staticmethod
    def _write_sign(head: ET.Element, note: LineNote, number: int, is_again: bool) -> None:
        if note.signs[number].value and not is_again:
            ET.SubElement(head, "accid", accid=note.signs[number].value)

    @staticmethod
    def _write_marks(written: ET.Element, measure: ET.Element, note: LineNote) -> None:
        known = [_ARTICULATIONS[each] for each in note.articulations if each in _ARTICULATIONS]
        if known:
            ET.SubElement(written, "artic", artic=" ".join(known))
        if note.room in _SYLLABLES:
            verse = ET.SubElement(written, "verse", n="1")
            ET.SubElement(verse, "syl").text = _SYLLABLES[note.room]
        start = {"startid": f"#{note.key}"}
        if note.dynamic:
            ET.SubElement(measure, "dynam", start | {"place": "below"}).text = note.dynamic
        if note.mark == "trill":
            ET.SubElement(measure, "trill", start)
        for text in (note.mark if note.mark != "trill" else "", note.figure):
            if text:
                ET.SubElement(measure, "dir", start | {"place": "above"}).text = text
        if note.has_fermata:
            ET.SubElement(measure, "fermata", start)

    def write_slurs(self) -> None:
        """Join notes that follow each other without a new attack."""
        first: int | None = None
        for place in range(len(self.notes) + 1):
            is_on = place < len(self.notes) and self.notes[place].is_slurred and place > 0
            if is_on and first is None:
                first = place - 1
            if not is_on and first is not None:
                ends = {
                    "startid": f"#{self.heads[first][0]}",
                    "endid": f"#{self.heads[place - 1][-1]}",
                }
                ET.SubElement(self.measures[first], "slur", ends)
                first = None


def _cut(each: Sounding, length: Fraction) -> Sounding:
    """Keep what of a note lies within a bar; one that begins at its end or after keeps it all."""
    left = length - each.start
    return Sounding(each.note, each.start, min(each.duration, left) if left > 0 else each.duration)


def _cut_beams(
    parent: ET.Element, values: Sequence[NoteValue], beat: Fraction
) -> Iterator[tuple[ET.Element, Sequence[NoteValue]]]:
    """Put notes shorter than a quarter that lie within one beat under one beam."""

    def place(value: NoteValue) -> tuple[bool, Fraction]:
        is_short = value.base >= _BEAMED_FROM and value.note is not None
        return is_short, Fraction(value.start // beat) if is_short else value.start

    for (is_short, _), run in groupby(values, key=place):
        together = list(run)
        beam = ET.SubElement(parent, "beam") if is_short and len(together) > 1 else parent
        yield beam, together
