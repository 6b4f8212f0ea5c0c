"""Reader of the layers of one bar of MEI: notes, chords and rests in time."""

from __future__ import annotations

from fractions import Fraction

from analysis.notation.mei_values import (
    ALTERS,
    GESTURAL,
    SIGNS,
    key_alters,
    read_accidental,
    read_length,
)
from analysis.notation.numbers import read_integer
from analysis.notation.transcript import NoteHead
from analysis.notation.xml_items import Item

_NO_TIME = Fraction(0)
_IS_REST = frozenset({"rest", "space"})
_IS_WHOLE_REST = frozenset({"mRest", "mSpace", "multiRest"})
_TIES = {
    "i": ("tie-start",),
    "m": ("tie-start", "tie-stop"),
    "t": ("tie-stop",),
}
_OCTAVES = range(10)
_MOST_BARS = 1000


class LayerReader:
    """Reads the layers of one bar on one staff."""

    def __init__(self, bar: int, bar_length: Fraction, fifths: int) -> None:
        self._bar = bar
        self._bar_length = bar_length
        self._key = key_alters(fifths)
        self._memory: dict[tuple[str, int], str] = {}
        self._cursor = _NO_TIME
        self._last_length = Fraction(1)
        self._voice = "1"
        self.notes: list[NoteHead] = []
        self.ids: dict[str, int] = {}
        self.clefs: list[tuple[Fraction, str]] = []
        self.omitted: list[str] = []

    def read(self, layer: Item, voice: str) -> Fraction:
        """Read one layer, and return how far it reaches in quarter notes."""
        self._cursor, self._voice = _NO_TIME, voice[:20] or "1"
        for child in layer.children:
            self._take(child, Fraction(1), ())
        return self._cursor

    def _take(self, item: Item, scale: Fraction, marks: tuple[str, ...]) -> None:
        tag = item.tag
        if tag in ("note", "chord"):
            self._take_chord(item, scale, marks)
        elif tag in _IS_REST:
            self._move_on(self._length_of(item) * scale)
        elif tag in _IS_WHOLE_REST:
            bars = read_integer(item.attributes.get("num", "")) if tag == "multiRest" else 1
            self._move_on(self._bar_length * max(1, min(bars or 1, _MOST_BARS)))
        elif tag == "clef":
            shape, line = item.attributes.get("shape", ""), item.attributes.get("line", "")
            self.clefs.append((self._cursor, shape + line))
        elif tag in ("mRpt", "mRpt2", "beatRpt", "halfmRpt"):
            self.omitted.append("bars with a repeat sign for notes")
            self._move_on(self._bar_length)
        else:
            self._take_group(item, scale, marks)

    def _take_group(self, item: Item, scale: Fraction, marks: tuple[str, ...]) -> None:
        """Take beams, tuplets, tremolos, and whatever else holds notes."""
        if item.tag == "tuplet":
            actual = read_integer(item.attributes.get("num", ""))
            normal = read_integer(item.attributes.get("numbase", ""))
            if actual and normal and 0 < actual <= 1000 and 0 < normal <= 1000:
                scale = scale * Fraction(normal, actual)
        elif item.tag == "graceGrp":
            marks = (*marks, "grace")
        elif item.tag == "fTrem":  # each note is written with the length of both together
            pair = [child for child in item.children if child.tag in ("note", "chord")]
            if len(pair) == 2:
                self._take_chord(pair[0], scale / 2, (*marks, "tremolo-start"))
                self._take_chord(pair[1], scale / 2, (*marks, "tremolo-stop"))
                return
        for child in item.children:
            self._take(child, scale, marks)

    def _length_of(self, item: Item) -> Fraction:
        length = read_length(item, self._last_length)
        self._last_length = length or self._last_length
        return self._last_length

    def _move_on(self, length: Fraction) -> None:
        self._cursor += length

    def _take_chord(self, item: Item, scale: Fraction, marks: tuple[str, ...]) -> None:
        is_grace = "grace" in marks or "grace" in item.attributes
        if item.attributes.get("cue") == "true":
            self.omitted.append("cue notes")
            self._move_on(self._length_of(item) * scale)
            return
        duration = _NO_TIME if is_grace else self._length_of(item) * scale
        shared = {*marks, *(("grace",) if is_grace else ())}
        shared |= {"fermata"} if "fermata" in item.attributes or item.first("fermata") else set()
        heads = list(item.all("note")) if item.tag == "chord" else [item]
        for at, head in enumerate(heads):
            self._take_head(head, item, duration, shared | ({"chord"} if at else set()))
        self._move_on(duration)

    def _take_head(self, head: Item, chord: Item, duration: Fraction, marks: set[str]) -> None:
        step = head.attributes.get("pname", "").upper()
        octave = read_integer(head.attributes.get("oct", ""))
        if len(step) != 1 or step not in "ABCDEFG" or octave is None or octave not in _OCTAVES:
            self.omitted.append("notes whose pitch cannot be read")
            return
        sign, alter = self._read_sign(head, step, octave)
        tie = head.attributes.get("tie") or chord.attributes.get("tie") or ""
        for each in (head, chord):
            identity = each.attributes.get("xml:id", "")
            if identity:
                self.ids.setdefault(identity, len(self.notes))
        articulations = (
            chord.attributes.get("artic", "") or head.attributes.get("artic", "")
        ).split()
        articulations += [each.attributes.get("artic", "") for each in chord.all("artic")]
        self.notes.append(
            NoteHead(
                self._bar,
                self._cursor,
                duration,
                step,
                octave,
                alter=alter,
                sign=sign,
                voice=self._voice,
                marks=tuple(sorted({*marks, *_TIES.get(tie[:1], ())})),
                articulations=tuple(each for each in articulations if each)[:20],
            )
        )

    def _read_sign(self, head: Item, step: str, octave: int) -> tuple[str, str]:
        """The sign by its MusicXML name, and the alteration as far as it is sure."""
        written, gestural = read_accidental(head)
        place = (step, octave)
        if written:
            self._memory[place] = written
            return SIGNS.get(written, written), ALTERS.get(written, "")
        if gestural:
            return "", GESTURAL.get(gestural, "")
        held = self._memory.get(place)
        if held is None:
            return "", self._key.get(step, "0")
        alter = ALTERS.get(held, "")
        # a microtone is left open: how long its sign lasts is asked
        return "", alter if "." not in alter else ""
