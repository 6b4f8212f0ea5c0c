"""Reader of a MusicXML part: the items of its bars to a `PartTranscript`.

MusicXML 3.1 and 4.0 (W3C). Time runs with a cursor in quarter notes: notes and `forward` move it
on, `backup` moves it back, never before the bar; a bar is as long as its furthest point.
"""

from __future__ import annotations

from fractions import Fraction

from analysis.notation.bounds import ScoreBounds, ScoreRejected
from analysis.notation.choosing import NAME_CHARACTERS, choose_part, one_line
from analysis.notation.numbers import read_decimal, read_integer
from analysis.notation.reading_marks import NoteMarks, read_marks, read_sign
from analysis.notation.reading_signatures import read_attributes, read_barline, read_direction
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
STEPS = frozenset("ABCDEFG")
OCTAVES = range(10)
NO_TIME = Fraction(0)
# No note lasts longer: a slip of the file would otherwise push all that follows out of sight.
LONGEST_QUARTERS = Fraction(1000)


class PartReader:
    """Takes the items of a score file and keeps what they say of one part."""

    def __init__(self, number: int, bounds: ScoreBounds) -> None:
        self._number = number  # 0: the only part, or the first that a clarinet plays
        self._bounds = bounds
        self._headings: list[PartHeading] = []
        self._wanted: str | None = None
        self._title = self._composer = ""
        self._is_concert_score = False
        self._divisions = Fraction(1)
        self._cursor = self._chord_onset = self._length = NO_TIME
        self._label = ""
        self._repeats_bars = False
        self._bars: list[TranscriptBar] = []
        self._notes: list[NoteHead] = []
        self._events: list[ScoreEvent] = []
        self._omitted: dict[str, list[int]] = {}

    # --- before the music

    def take_header(self, item: Item) -> None:
        """See `ItemSink`."""
        if item.tag == "part-list":
            self._read_part_list(item)
        elif item.tag == "work":
            self._title = item.text_of("work-title")[:NAME_CHARACTERS] or self._title
        elif item.tag == "movement-title":
            self._title = self._title or item.text.strip()[:NAME_CHARACTERS]
        elif item.tag == "identification":
            for creator in item.all("creator"):
                if creator.attributes.get("type", "composer") == "composer":
                    self._composer = creator.text.strip()[:NAME_CHARACTERS]
                    break
        elif item.tag == "defaults":
            self._is_concert_score = item.first("concert-score") is not None

    def _read_part_list(self, item: Item) -> None:
        for part in item.all("score-part"):
            if len(self._headings) >= self._bounds.parts:
                raise ScoreRejected("parts", str(self._bounds.parts))
            instruments = list(part.all("score-instrument"))
            self._headings.append(
                PartHeading(
                    len(self._headings) + 1,
                    part.attributes.get("id", ""),
                    one_line(part.text_of("part-name")),
                    tuple(one_line(each.text_of("instrument-name")) for each in instruments[:20]),
                    tuple(one_line(each.text_of("instrument-sound")) for each in instruments[:20]),
                )
            )

    def wants(self, part_id: str) -> bool:
        """See `ItemSink`; a part that is not in the list comes after those that are."""
        if all(each.id != part_id for each in self._headings):
            self._headings.append(PartHeading(len(self._headings) + 1, part_id, ""))
        if self._wanted is None:
            chosen = choose_part(self._headings, self._number)
            self._wanted = None if chosen is None else chosen.id
        return part_id == self._wanted

    # --- the music

    def begin_bar(self, attributes: dict[str, str]) -> None:
        """See `ItemSink`."""
        self._cursor = self._chord_onset = self._length = NO_TIME
        self._label = attributes.get("number", "").strip()[:LABEL_CHARACTERS]

    def end_bar(self) -> None:
        """See `ItemSink`."""
        has_notes = bool(self._notes) and self._notes[-1].bar == len(self._bars)
        if self._repeats_bars and not has_notes:
            self._omit("bars with a repeat sign for notes")
        self._bars.append(TranscriptBar(self._label, self._length))

    def take_item(self, item: Item) -> None:
        """See `ItemSink`."""
        tag = item.tag
        if tag == "note":
            self._take_note(item)
        elif tag == "backup":
            self._cursor = max(NO_TIME, self._cursor - self._read_duration(item))
        elif tag == "forward":
            self._move_on(self._read_duration(item))
        elif tag == "attributes":
            divisions = read_decimal(item.text_of("divisions"))
            if divisions:  # 0 and what is no number leave the last valid one
                self._divisions = abs(divisions)
            self._add_events(read_attributes(item), self._cursor)
            for style in item.all("measure-style"):
                sign = style.first("measure-repeat")
                if sign is not None:
                    self._repeats_bars = sign.attributes.get("type") == "start"
        elif tag in ("direction", "sound"):
            offset = read_decimal(item.text_of("offset")) or NO_TIME
            onset = max(NO_TIME, self._cursor + offset / self._divisions)
            self._add_events(read_direction(item), onset)
        elif tag == "barline":
            self._add_events(read_barline(item), self._cursor)

    def _add_events(self, events: list[tuple[str, str, int]], onset: Fraction) -> None:
        bar = len(self._bars)
        self._events += [
            ScoreEvent(bar, onset, kind, value[:NAME_CHARACTERS], staff)
            for kind, value, staff in events
        ]

    def _read_duration(self, item: Item) -> Fraction:
        duration = read_decimal(item.text_of("duration"))
        if duration is None or duration <= 0:
            return NO_TIME
        return min(duration / self._divisions, LONGEST_QUARTERS)

    def _move_on(self, duration: Fraction) -> None:
        self._cursor += duration
        self._length = max(self._length, self._cursor)

    def _omit(self, kind: str) -> None:
        self._omitted.setdefault(kind, []).append(len(self._bars))

    def _take_note(self, item: Item) -> None:
        tags = {child.tag for child in item.children}
        duration = NO_TIME if "grace" in tags else self._read_duration(item)
        onset = self._chord_onset if "chord" in tags else self._cursor
        self._chord_onset = onset
        if "chord" not in tags:
            self._move_on(duration)
        else:
            self._length = max(self._length, onset + duration)
        marks = read_marks(item, tags)
        self._add_events(marks.events, onset)
        if "rest" in tags:
            return
        if "unpitched" in tags:
            self._omit("notes without pitch")
            self._add_events([("unpitched", ", ".join(marks.techniques), 0)], onset)
        elif "cue" in tags:
            self._omit("cue notes")
        elif item.attributes.get("print-object") == "no":
            self._omit("hidden notes")
        else:
            self._keep(item, onset, duration, marks)

    def _keep(self, item: Item, onset: Fraction, duration: Fraction, marks: NoteMarks) -> None:
        pitch = item.first("pitch")
        step = pitch.text_of("step") if pitch else ""
        octave = read_integer(pitch.text_of("octave")) if pitch else None
        if pitch is None or step not in STEPS or octave not in OCTAVES or octave is None:
            self._omit("notes whose pitch cannot be read")
            return
        if item.first("lyric") is not None:
            self._omit("texts under notes")
        self._notes.append(
            NoteHead(
                bar=len(self._bars),
                onset=onset,
                duration=duration,
                step=step,
                octave=octave,
                alter=pitch.text_of("alter")[:LABEL_CHARACTERS],
                sign=read_sign(item.first("accidental")),
                voice=item.text_of("voice")[:LABEL_CHARACTERS] or "1",
                staff=read_integer(item.text_of("staff")) or 1,
                marks=marks.marks,
                slurs=marks.slurs,
                trill_sign=marks.trill_sign,
                fingerings=marks.fingerings,
                techniques=marks.techniques,
                articulations=marks.articulations,
            )
        )

    # --- the end

    def finish(self, note_counts: dict[str, int]) -> PartTranscript:
        """Return the transcript; `note_counts` are those of every part by its id."""
        if not self._headings or (self._wanted is None and not self._number):
            raise ScoreRejected("no parts")
        if self._wanted is None:
            raise ScoreRejected("no such part", str(len(self._headings)))
        parts = tuple(
            PartHeading(
                each.number,
                each.id,
                each.name,
                each.instruments,
                each.sounds,
                note_counts.get(each.id, 0),
            )
            for each in self._headings
        )
        return PartTranscript(
            heading=next(each for each in parts if each.id == self._wanted),
            parts=parts,
            title=self._title,
            composer=self._composer,
            is_concert_score=self._is_concert_score,
            bars=tuple(self._bars),
            notes=tuple(self._notes),
            events=tuple(self._events),
            omissions=tuple(Omission(kind, tuple(bars)) for kind, bars in self._omitted.items()),
        )
