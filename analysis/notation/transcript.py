"""Transcript of one part: what a score file says of it, as it is said, in file order.

Times are exact fractions of a quarter note. Pitch is the letters and numbers of the file: nothing
is concluded from a sign here. `to_plain` and `from_plain` turn a transcript into plain lists for
JSON and back without loss; `TRANSCRIPT_VERSION` changes with their form.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import Any

TRANSCRIPT_VERSION = 1


@dataclass(frozen=True, slots=True)
class PartHeading:
    """A part as the file's list names it; `number` counts from 1, `note_count` has rests in it."""

    number: int
    id: str
    name: str
    instruments: tuple[str, ...] = ()
    sounds: tuple[str, ...] = ()
    note_count: int = 0


@dataclass(frozen=True, slots=True)
class TranscriptBar:
    """A bar: its number as printed, and how far it reaches, in quarter notes."""

    label: str
    length: Fraction


@dataclass(frozen=True, slots=True)
class NoteHead:
    """One note head.

    `bar` is the index of its bar, `onset` is counted from there and `duration` from the onset, both
    in quarter notes (a grace note takes none). `alter` is the text of the alteration in semitones
    ('' if there is none), `sign` the printed accidental: a MusicXML name, a SMuFL name after
    'smufl:', or ''. `marks` are of `MARKS`; `slurs` are 'start' or 'stop' with a number.
    `trill_sign` is the accidental printed with a trill; `trill_to` its other note in canonical
    text, which only a typed part can tell. `fingerings`, `techniques` and
    `articulations` are texts in the file's order.
    """

    bar: int
    onset: Fraction
    duration: Fraction
    step: str
    octave: int
    alter: str = ""
    sign: str = ""
    voice: str = "1"
    staff: int = 1
    marks: tuple[str, ...] = ()
    slurs: tuple[str, ...] = ()
    trill_sign: str = ""
    fingerings: tuple[str, ...] = ()
    techniques: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()
    trill_to: str = ""


MARKS = (
    "chord",
    "grace",
    "tie-start",
    "tie-stop",
    "trill",
    "tremolo-start",
    "tremolo-stop",
    "tremolo-pair",
    "fermata",
)
"""What a note head can be marked as; 'chord' sounds with the head before it."""


@dataclass(frozen=True, slots=True)
class ScoreEvent:
    """Something at a place that is no note: `kind` is of `EVENT_KINDS`; `staff` 0 means all."""

    bar: int
    onset: Fraction
    kind: str
    value: str
    staff: int = 0


EVENT_KINDS = (
    "words",  # as printed
    "dynamics",  # 'pp'
    "wedge",  # crescendo, diminuendo, stop
    "tempo",  # quarter notes a minute
    "transpose",  # diatonic, chromatic, octaves, separated by blanks; '-' if not given
    "for-part",  # the same, of a concert score
    "clef",  # 'F4'
    "key",  # number of fifths
    "key-alter",  # 'B -0.5', one event for each step of a key that is not of fifths
    "repeat",  # 'forward' or 'backward'
    "ending",  # 'start 1,2', 'stop 1,2'
    "jump",  # segno, coda, dacapo, dalsegno, tocoda
    "instrument",  # the sound that a change of instrument names
    "unpitched",  # a note without pitch
)


@dataclass(frozen=True, slots=True)
class Omission:
    """What was not taken: its kind ('cue notes'), and the index of the bar of each."""

    kind: str
    bars: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PartTranscript:
    """One part of a score file, and the list of all its parts."""

    heading: PartHeading
    parts: tuple[PartHeading, ...]
    title: str = ""
    composer: str = ""
    is_concert_score: bool = False
    bars: tuple[TranscriptBar, ...] = ()
    notes: tuple[NoteHead, ...] = ()
    events: tuple[ScoreEvent, ...] = ()
    omissions: tuple[Omission, ...] = ()

    def only_bar(self, bar: int, most_notes: int) -> PartTranscript:
        """Return the first notes of a bar, with all that stands beside them."""
        notes = (each for each in self.notes if each.bar == bar)
        return PartTranscript(
            self.heading,
            self.parts,
            is_concert_score=self.is_concert_score,
            bars=self.bars,
            notes=tuple(islice(notes, most_notes)),
            events=self.events,
        )


def to_plain(transcript: PartTranscript) -> dict[str, Any]:
    """Return a transcript as lists, texts and numbers."""
    return {
        "version": TRANSCRIPT_VERSION,
        "part": transcript.heading.number,
        "parts": [
            [each.number, each.id, each.name, each.instruments, each.sounds, each.note_count]
            for each in transcript.parts
        ],
        "title": transcript.title,
        "composer": transcript.composer,
        "concert": transcript.is_concert_score,
        "bars": [[each.label, str(each.length)] for each in transcript.bars],
        "notes": [_plain_note(each) for each in transcript.notes],
        "events": [
            [each.bar, str(each.onset), each.kind, each.value, each.staff]
            for each in transcript.events
        ],
        "omissions": [[each.kind, each.bars] for each in transcript.omissions],
    }


def from_plain(plain: dict[str, Any]) -> PartTranscript:
    """Read what `to_plain` writes; raises ValueError for another version."""
    if plain.get("version") != TRANSCRIPT_VERSION:
        raise ValueError(f"a transcript of version {plain.get('version')} is not read")
    parts = tuple(
        PartHeading(number, part_id, name, tuple(instruments), tuple(sounds), count)
        for number, part_id, name, instruments, sounds, count in plain["parts"]
    )
    return PartTranscript(
        heading=parts[plain["part"] - 1],
        parts=parts,
        title=plain["title"],
        composer=plain["composer"],
        is_concert_score=plain["concert"],
        bars=tuple(TranscriptBar(label, Fraction(length)) for label, length in plain["bars"]),
        notes=tuple(_read_note(each) for each in plain["notes"]),
        events=tuple(
            ScoreEvent(bar, Fraction(onset), kind, value, staff)
            for bar, onset, kind, value, staff in plain["events"]
        ),
        omissions=tuple(Omission(kind, tuple(bars)) for kind, bars in plain["omissions"]),
    )


def _plain_note(note: NoteHead) -> list[Any]:
    lists = (note.marks, note.slurs, note.fingerings, note.techniques, note.articulations)
    return [
        note.bar, str(note.onset), str(note.duration), note.step, note.octave, note.alter,
        note.sign, note.voice, note.staff, note.trill_sign, note.trill_to,
        *(lists if any(lists) else ()),
    ]  # fmt: skip


def _read_note(plain: list[Any]) -> NoteHead:
    bar, onset, duration, step, octave, alter, sign, voice, staff, trill_sign, other, *lists = plain
    marks, slurs, fingerings, techniques, articulations = map(tuple, lists or ((),) * 5)
    return NoteHead(
        bar, Fraction(onset), Fraction(duration), step, octave, alter, sign, voice, staff,
        marks, slurs, trill_sign, fingerings, techniques, articulations, other,
    )  # fmt: skip
