"""Parser of a part typed by hand: bars, notes, lengths, slurs, trills, fingerings, words.

For a player who holds paper::

    12: D5 -50 (1/4), E5~F5+25 | 13: tr D5/Dqf5 | %2

Bars stand between `|` or on lines of their own and may begin with their number and a colon; without
one they count on. Notes stand between commas, or between `~` where they are slurred. Each is read
by `parse_pitch`; a note without an octave takes the last one. A length is a part of a whole note
and holds until the next: `(1/4)`, `(1/4+1/16)`. Further: `r` a rest, `gr D5` a grace note,
`tr D5/E5` and `trem D5/A5` two notes that alternate, `D4 & A5` what sounds together, `[T R 12]` the
composer's fingering, `"slap"` words at the note (`"pp"` is a dynamic, `"1/4=60"` a tempo), `%` the
bar before once more and `%3` three times. Everything is written pitch.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from analysis.pitch import (
    AmbiguousPitch,
    JustTarget,
    NoteNames,
    PitchError,
    PitchRequest,
    Transposition,
    Tuning,
    WrittenPitch,
    parse_pitch,
    resolve_written,
)
from analysis.score.errors import UnreadableTypedPart
from analysis.score.parts import TrillKind
from analysis.score.typed_pieces import TextStretch, find_label, split_pieces, take_suffixes

MOST_CHARACTERS = 200_000
MOST_NOTES = 20_000
MOST_REPEATS = 200
FIRST_LENGTH = Fraction(1)
LONGEST_QUARTERS = Fraction(400)
_REPEAT = re.compile(r"%\s*([0-9]{0,4})")
_RESTS = frozenset({"r", "rest"})
_PREFIX = re.compile(r"\s*(gr|trem|tr)\s+(?=\S)", re.IGNORECASE)
_LENGTH = re.compile(r"[0-9]{1,4}(/[1-9][0-9]{0,3})?(\+[0-9]{1,4}(/[1-9][0-9]{0,3})?)*")
# a stroke between two figures belongs to a fraction or a ratio
_PAIR = re.compile(r"(?<![0-9])/|/(?![0-9])|(?<=\s)/(?=\s)")


@dataclass(frozen=True, slots=True)
class TypedNote:
    """A typed note, or a rest where there are no pitches.

    `pitches` are written, from low to high; `length` is in quarter notes, 0 for a grace note;
    `trill_to` is the other note of a trill or tremolo.
    """

    pitches: tuple[WrittenPitch, ...]
    length: Fraction
    is_slurred: bool = False
    is_grace: bool = False
    trill_kind: TrillKind | None = None
    trill_to: WrittenPitch | None = None
    fingering: str = ""
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TypedBar:
    """A typed bar: its number as typed or counted on, and its notes and rests."""

    label: str
    notes: tuple[TypedNote, ...]


def parse_typed_part(text: str, *, names: NoteNames = NoteNames.ENGLISH) -> tuple[TypedBar, ...]:
    """Read a part as it is typed.

    Raises `UnreadableTypedPart`, whose message names the bar and the note and says what to do.

    >>> bars = parse_typed_part("12: D5 -50 (1/4), E5~F5+25 | 13: tr D5/Dqf5")
    >>> [(bar.label, [note.pitches[0].canonical for note in bar.notes]) for bar in bars]
    [('12', ['D5-50c', 'E5', 'F5+25c']), ('13', ['D5'])]
    """
    if len(text) > MOST_CHARACTERS:
        raise UnreadableTypedPart(
            f"This text has {len(text):,} characters; a part takes at most {MOST_CHARACTERS:,}. "
            "Type it in two parts.",
            position=MOST_CHARACTERS,
            bar="",
        )
    reading = _Typing(names)
    for piece in split_pieces(TextStretch(text, 0), "|\n"):
        if piece.text.strip():
            reading.take_bar(piece)
    if not any(note.pitches for bar in reading.bars for note in bar.notes):
        raise UnreadableTypedPart(
            "There is no note yet. Type one, for example: 1: D5 -50 (1/4), E5", position=0, bar=""
        )
    return tuple(reading.bars)


class _Typing:
    """State of the typing so far, and what it lets one leave out."""

    def __init__(self, names: NoteNames) -> None:
        self.bars: list[TypedBar] = []
        self._names = names
        self._length = FIRST_LENGTH
        self._octave: int | None = None
        self._note_count = 0
        self._label = ""
        self._place = ""

    def take_bar(self, piece: TextStretch) -> None:
        label, rest = find_label(piece)
        self._label = label or self._count_on()
        self._place = f"Bar {self._label}"
        repeat = _REPEAT.fullmatch(rest.text.strip())
        if repeat:
            self._repeat(rest, int(repeat[1] or 1))
            return
        notes = tuple(self._read_notes(rest))
        self._count(len(notes), piece)
        self.bars.append(TypedBar(self._label, notes))

    def _count_on(self) -> str:
        """The number after the last bar's; a bar after one without a number has none."""
        if not self.bars:
            return "1"
        last = self.bars[-1].label
        return str(int(last) + 1) if last.isascii() and last.isdigit() else ""

    def _repeat(self, piece: TextStretch, times: int) -> None:
        if not self.bars:
            raise self._refuse(piece, "there is no bar before it to repeat. Type the first one.")
        if not 1 <= times <= MOST_REPEATS:
            raise self._refuse(piece, f"a bar can be repeated 1 to {MOST_REPEATS} times, as in %2.")
        for _ in range(times):
            first, *others = self.bars[-1].notes
            if not self._follows_note():
                first = replace(first, is_slurred=False)
            notes = (first, *others)
            self._count(len(notes), piece)
            self.bars.append(TypedBar(self._label, notes))
            self._label = self._count_on()

    def _count(self, more: int, piece: TextStretch) -> None:
        self._note_count += more
        if self._note_count > MOST_NOTES:
            raise self._refuse(piece, f"a part takes at most {MOST_NOTES:,} notes. Type two parts.")

    def _follows_note(self) -> bool:
        """Whether the last bar ends with a note, from which a slur may lead on."""
        return bool(self.bars and self.bars[-1].notes[-1].pitches)

    def _read_notes(self, bar: TextStretch) -> Iterator[TypedNote]:
        number = 0
        follows_note = self._follows_note()
        for group in split_pieces(bar, ","):
            joined = split_pieces(group, "~")
            for at, piece in enumerate(joined):
                if not piece.text.strip() and at == 0 and len(joined) > 1 and number == 0:
                    continue  # a slur from the bar before
                number += 1
                self._place = f"Bar {self._label}, note {number}"
                if not piece.text.strip():
                    raise self._refuse(
                        piece, "a note is missing here. Take the mark away, or type the note."
                    )
                note = self._read_note(piece)
                is_slurred = at > 0
                if is_slurred and not (note.pitches and follows_note):
                    raise self._refuse(
                        piece, "a slur joins two notes, and one is missing. Put a comma for the ~."
                    )
                follows_note = bool(note.pitches)
                yield replace(note, is_slurred=is_slurred)

    def _read_note(self, piece: TextStretch) -> TypedNote:
        suffixes = take_suffixes(piece)
        body = suffixes.body
        if suffixes.unclosed:
            raise self._refuse(
                body, f"“{suffixes.unclosed}” is not closed. Close it, or take it away."
            )
        if suffixes.length:
            self._length = self._read_length(body, suffixes.length)
        words, fingering = suffixes.words, suffixes.fingering
        if body.text.strip().lower() in _RESTS:
            return TypedNote((), self._length, words=words)
        prefix = _PREFIX.match(body.text)
        kind = prefix[1].lower() if prefix else ""
        if prefix:
            body = body.cut(prefix.end(), len(body.text))
        if kind == "gr":
            pitches = self._read_pitches(body)
            return TypedNote(pitches, Fraction(0), is_grace=True, fingering=fingering, words=words)
        if not kind:
            pitches = self._read_pitches(body)
            return TypedNote(pitches, self._length, fingering=fingering, words=words)
        low, high = self._read_pair(body)
        return TypedNote(
            (low,),
            self._length,
            trill_kind=TrillKind.TRILL if kind == "tr" else TrillKind.TREMOLO,
            trill_to=high,
            fingering=fingering,
            words=words,
        )

    def _read_length(self, piece: TextStretch, text: str) -> Fraction:
        compact = "".join(text.split())
        if not _LENGTH.fullmatch(compact):
            raise self._refuse(
                piece,
                f"“({text})” is no length. Write a part of a whole note, for example (1/8) for an "
                "eighth note.",
            )
        length = 4 * sum((Fraction(each) for each in compact.split("+")), Fraction(0))
        if not 0 < length <= LONGEST_QUARTERS:
            raise self._refuse(
                piece,
                f"a note cannot be ({text}) long. Give up to {LONGEST_QUARTERS / 4} whole notes.",
            )
        return length

    def _read_pitches(self, body: TextStretch) -> tuple[WrittenPitch, ...]:
        pitches = [self._read_pitch(piece) for piece in split_pieces(body, "&")]
        return tuple(sorted(pitches, key=lambda pitch: pitch.cents))

    def _read_pair(self, body: TextStretch) -> tuple[WrittenPitch, WrittenPitch]:
        strokes = list(_PAIR.finditer(body.text))
        if len(strokes) != 1:
            raise self._refuse(
                body, "a trill takes two notes with a stroke between them, as in tr D5/E5."
            )
        stroke = strokes[0]
        first = self._read_pitch(body.cut(0, stroke.start()))
        return first, self._read_pitch(body.cut(stroke.end(), len(body.text)))

    def _read_pitch(self, piece: TextStretch) -> WrittenPitch:
        if not piece.text.strip():
            raise self._refuse(piece, "a note is missing here. Type it, for example D5 -50.")
        try:
            pitch = self._resolve(piece, parse_pitch(piece.text, names=self._names))
        except AmbiguousPitch as question:
            pitch = self._take_octave(piece, question)
        except PitchError as error:
            raise self._refuse(piece, str(error)) from error
        self._octave = pitch.octave
        return pitch

    def _resolve(self, piece: TextStretch, request: PitchRequest) -> WrittenPitch:
        if isinstance(request, WrittenPitch):
            return request
        if not isinstance(request, JustTarget):
            raise self._refuse(
                piece, "a part holds written notes and no frequencies. Type the note, as in D5 -50."
            )
        # a just interval over a written note needs neither transposition nor tuning
        return resolve_written(request, transposition=Transposition(0), tuning=Tuning(440.0))

    def _take_octave(self, piece: TextStretch, question: AmbiguousPitch) -> WrittenPitch:
        """Read a note without an octave in that of the note before it."""
        octave = self._octave
        if octave is not None and not re.search(r"[0-9]", piece.text):
            try:
                return self._resolve(
                    piece, parse_pitch(f"{piece.text.strip()} {octave}", names=self._names)
                )
            except PitchError:
                pass
        read = [parse_pitch(each, names=self._names) for each in question.candidates]
        fitting = {
            each for each in read if isinstance(each, WrittenPitch) and each.octave == octave
        }
        if len(fitting) == 1:
            return fitting.pop()
        raise self._refuse(piece, str(question)) from question

    def _refuse(self, piece: TextStretch, words: str) -> UnreadableTypedPart:
        shown = " ".join(piece.text.split())
        shown = f"“{shown[:40]}{'…' if len(shown) > 40 else ''}”: " if shown else ""
        return UnreadableTypedPart(
            f"{self._place}: {shown}{words}", position=piece.first_position, bar=self._label
        )


def count_notes(bars: Sequence[TypedBar]) -> int:
    """Return how many notes a typed part has, rests not counted.

    >>> count_notes(parse_typed_part("D5, r, E | %"))
    4
    """
    return sum(1 for bar in bars for note in bar.notes if note.pitches)
