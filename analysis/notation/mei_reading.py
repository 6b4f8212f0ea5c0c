"""Reader of a staff of an MEI file: definitions and measures to a `PartTranscript`.

A staff is a part here. Pitch is written pitch; `trans.semi` and `trans.diat` lead from written to
sounding pitch (MEI 5, att.transposition). A note without any accidental has that of an earlier note
in the bar on the same step and octave, else that of the key; a microtone earlier in the bar is left
to be asked, like in any other file.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from analysis.notation.bounds import ScoreBounds, ScoreRejected
from analysis.notation.choosing import NAME_CHARACTERS, choose_part, one_line
from analysis.notation.mei_controls import ControlReader
from analysis.notation.mei_layers import LayerReader
from analysis.notation.mei_values import read_key, text_within
from analysis.notation.numbers import read_decimal, read_integer
from analysis.notation.transcript import (
    NoteHead,
    Omission,
    PartHeading,
    PartTranscript,
    ScoreEvent,
    TranscriptBar,
)
from analysis.notation.xml_items import Item

LABEL_CHARACTERS = 20
_START = Fraction(0)


class MeiReader:
    """Takes the items of an MEI file and keeps what they say of one staff."""

    def __init__(self, number: int, bounds: ScoreBounds) -> None:
        self._number = number
        self._bounds = bounds
        self._headings: list[PartHeading] = []
        self._wanted: PartHeading | None = None
        self._title = self._composer = ""
        self._bars: list[TranscriptBar] = []
        self._notes: list[NoteHead] = []
        self._events: list[ScoreEvent] = []
        self._omitted: dict[str, list[int]] = {}
        self._bar_length = Fraction(4)
        self._beat = Fraction(1)
        self._fifths = 0
        self._ids: dict[str, int] = {}
        self._controls = ControlReader(self._ids)

    def take_item(self, item: Item) -> None:
        """See `MeiSink`."""
        if item.tag == "titleStmt":
            self._title = item.text_of("title")[:NAME_CHARACTERS] or text_within(item)
            composer = item.first("composer")
            self._composer = text_within(composer)[:NAME_CHARACTERS] if composer else ""
        elif item.tag == "measure":
            self._take_measure(item)
        else:
            self._take_definition(item)

    def begin_ending(self, numbers: str) -> None:
        """See `MeiSink`."""
        self._tell("ending", f"start {numbers}".strip())

    def stop_ending(self) -> None:
        """See `MeiSink`."""
        self._tell("ending", "stop")

    def _tell(self, kind: str, value: str, onset: Fraction = _START) -> None:
        event = ScoreEvent(len(self._bars), onset, kind, value[:NAME_CHARACTERS])
        self._events.append(event)

    # --- definitions

    def _take_definition(self, item: Item) -> None:
        """Take meter, key, clef and transposition, of all staves and of the wanted one."""
        staves = [item] if item.tag == "staffDef" else list(_find_all(item, "staffDef"))
        for staff in staves:
            self._list_staff(staff)
        if self._wanted is None and self._headings:
            self._wanted = choose_part(self._headings, self._number)
        self._read_definition(item if item.tag == "scoreDef" else None)
        for staff in staves:
            if self._wanted is not None and staff.attributes.get("n", "1") == self._wanted.id:
                self._read_definition(staff)

    def _list_staff(self, staff: Item) -> None:
        staff_id = staff.attributes.get("n", "1")[:LABEL_CHARACTERS]
        if any(each.id == staff_id for each in self._headings):
            return
        if len(self._headings) >= self._bounds.parts:
            raise ScoreRejected("parts", str(self._bounds.parts))
        label = staff.first("label")
        name = staff.attributes.get("label", "") or (text_within(label) if label else "")
        instrument = staff.first("instrDef")
        sound = instrument.attributes.get("midi.instrname", "") if instrument else ""
        number = len(self._headings) + 1
        self._headings.append(PartHeading(number, staff_id, one_line(name), (one_line(sound),)))

    def _read_definition(self, item: Item | None) -> None:
        if item is None:
            return
        found = item.attributes
        meter = item.first("meterSig")
        count = found.get("meter.count") or (meter.attributes.get("count", "") if meter else "")
        unit = found.get("meter.unit") or (meter.attributes.get("unit", "") if meter else "")
        self._read_meter(count, unit)
        key = item.first("keySig")
        signature = found.get("key.sig") or found.get("keysig") or ""
        signature = signature or (key.attributes.get("sig", "") if key else "")
        if signature:
            self._fifths = read_key(signature)
            self._tell("key", str(self._fifths))
        clef = item.first("clef")
        shape = found.get("clef.shape") or (clef.attributes.get("shape", "") if clef else "")
        line = found.get("clef.line") or (clef.attributes.get("line", "") if clef else "")
        if shape:
            self._tell("clef", shape + line)
        semitones = read_decimal(found.get("trans.semi", ""))
        if semitones is not None:
            diatonic = read_integer(found.get("trans.diat", ""))
            self._tell("transpose", f"{'-' if diatonic is None else diatonic} {semitones} -")

    def _read_meter(self, count: str, unit: str) -> None:
        beats, value = read_integer(count), read_integer(unit)
        if beats and value and 0 < beats <= 128 and 0 < value <= 128:
            self._beat = Fraction(4, value)
            self._bar_length = beats * self._beat

    # --- music

    def _take_measure(self, measure: Item) -> None:
        if self._wanted is None:
            self._take_definition(Item("staffDef", {"n": _first_staff(measure)}))
        wanted = self._wanted.id if self._wanted else ""
        bar = len(self._bars)
        if measure.attributes.get("left") in ("rptstart", "rptboth"):
            self._tell("repeat", "forward")
        length = _START
        layers = LayerReader(bar, self._bar_length, self._fifths)
        for staff in measure.all("staff"):
            if staff.attributes.get("n", "1") == wanted:
                for number, layer in enumerate(staff.all("layer"), start=1):
                    length = max(length, layers.read(layer, layer.attributes.get("n", str(number))))
        for identity, index in layers.ids.items():
            self._ids[identity] = len(self._notes) + index
        self._notes += layers.notes
        for clef_onset, value in layers.clefs:
            self._tell("clef", value, clef_onset)
        for kind in layers.omitted:
            self._omitted.setdefault(kind, []).append(bar)
        self._events += self._controls.read(measure, bar, self._beat, wanted, self._notes)
        if measure.attributes.get("right") in ("rptend", "rptboth"):
            self._tell("repeat", "backward", length)
        label = measure.attributes.get("n", "")[:LABEL_CHARACTERS]
        self._bars.append(TranscriptBar(label, length))

    def finish(self, note_counts: dict[str, int]) -> PartTranscript:
        """Return the transcript; `note_counts` are those of every staff by its number."""
        if not self._headings or (self._wanted is None and not self._number):
            raise ScoreRejected("no parts")
        if self._wanted is None:
            raise ScoreRejected("no such part", str(len(self._headings)))
        parts = tuple(
            replace(each, note_count=note_counts.get(each.id, 0)) for each in self._headings
        )
        notes = self._controls.mark(self._notes)
        return PartTranscript(
            heading=parts[self._wanted.number - 1],
            parts=parts,
            title=one_line(self._title),
            composer=one_line(self._composer),
            bars=tuple(self._bars),
            notes=tuple(notes),
            events=tuple(self._events),
            omissions=tuple(Omission(kind, tuple(bars)) for kind, bars in self._omitted.items()),
        )


def _find_all(item: Item, tag: str) -> list[Item]:
    """All elements of that name below one, in file order."""
    found: list[Item] = []
    for child in item.children:
        found += [child] if child.tag == tag else _find_all(child, tag)
    return found


def _first_staff(measure: Item) -> str:
    staff = measure.first("staff")
    return staff.attributes.get("n", "1") if staff else "1"
