"""Writer of typed parts, and their way into a transcript.

What `write_typed_part` writes reads back exactly with `parse_typed_part` under the same note names.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from analysis.notation.transcript import (
    NoteHead,
    PartHeading,
    PartTranscript,
    ScoreEvent,
    TranscriptBar,
)
from analysis.pitch import STEIN_ZIMMERMANN, NoteNames, WrittenPitch, format_pitch
from analysis.pitch import musicxml_accidental as name_sign
from analysis.score.alterations import write_alter
from analysis.score.parts import TrillKind
from analysis.score.typed import FIRST_LENGTH, TypedBar, TypedNote

_DYNAMICS = frozenset({"pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "fp"})
_TEMPO = re.compile(r"([0-9]{1,2}/[1-9][0-9]?) ?= ?([0-9]{1,3}(?:\.[0-9]{1,3})?)")


def write_typed_part(bars: Sequence[TypedBar], *, names: NoteNames = NoteNames.ENGLISH) -> str:
    """Return the text of a typed part, one bar after the other.

    >>> from analysis.score.typed import parse_typed_part
    >>> write_typed_part(parse_typed_part("12: D5 -50 (1/8), E~F5+25 | tr D5/Dqf5"))
    '12: D5 −50 c (1/8), E5~F5 +25 c | 13: tr D5/D5 −50 c'
    """
    length = FIRST_LENGTH
    written = []
    for bar in bars:
        text = ""
        for at, note in enumerate(bar.notes):
            shown = "" if note.is_grace or note.length == length else f" ({note.length / 4})"
            length = length if note.is_grace else note.length
            separator = (
                ("~" if note.is_slurred else "") if at == 0 else (", ", "~")[note.is_slurred]
            )
            text += separator + _write_note(note, names) + shown + _write_rest_of(note)
        written.append(f"{bar.label}: {text}" if bar.label else text)
    return " | ".join(written)


def _write_note(note: TypedNote, names: NoteNames) -> str:
    if not note.pitches:
        return "r"
    pitches = " & ".join(format_pitch(each, names=names, style="short") for each in note.pitches)
    if note.trill_to is not None:
        prefix = "tr" if note.trill_kind is TrillKind.TRILL else "trem"
        other = format_pitch(note.trill_to, names=names, style="short")
        return f"{prefix} {pitches}/{other}"
    return f"gr {pitches}" if note.is_grace else pitches


def _write_rest_of(note: TypedNote) -> str:
    fingering = f" [{note.fingering}]" if note.fingering else ""
    return fingering + "".join(f' "{each}"' for each in note.words)


def to_transcript(bars: Sequence[TypedBar], *, name: str = "", title: str = "") -> PartTranscript:
    """Return the transcript of a typed part, which is read like that of a file.

    `name` is that of the instrument, as a part is headed.
    """
    heads: list[NoteHead] = []
    events: list[ScoreEvent] = []
    kept: list[TranscriptBar] = []
    slurs = _Slurs(bars)
    for index, bar in enumerate(bars):
        onset = Fraction(0)
        for note in bar.notes:
            events += _list_events(note, index, onset)
            heads += _list_heads(note, index, onset, slurs.next_marks())
            onset += note.length
        kept.append(TranscriptBar(bar.label, onset))
    heading = PartHeading(1, "typed", name, note_count=len(heads))
    return PartTranscript(
        heading,
        (heading,),
        title=title,
        bars=tuple(kept),
        notes=tuple(heads),
        events=tuple(events),
    )


class _Slurs:
    """Slurs as a file has them: where each begins and ends."""

    def __init__(self, bars: Sequence[TypedBar]) -> None:
        self._notes = [note for bar in bars for note in bar.notes]
        self._at = -1

    def next_marks(self) -> tuple[str, ...]:
        """Return the marks of the next note."""
        self._at += 1
        is_joined = self._notes[self._at].is_slurred
        follows = self._notes[self._at + 1 : self._at + 2]
        goes_on = bool(follows) and follows[0].is_slurred
        if is_joined == goes_on:
            return ()
        return ("stop 1",) if is_joined else ("start 1",)


def _list_events(note: TypedNote, bar: int, onset: Fraction) -> list[ScoreEvent]:
    events = []
    for words in note.words:
        tempo = _TEMPO.fullmatch(words)
        if words in _DYNAMICS:
            events.append(ScoreEvent(bar, onset, "dynamics", words))
        elif tempo:
            figure = 4 * Fraction(tempo[1]) * Fraction(tempo[2])
            events.append(ScoreEvent(bar, onset, "tempo", str(figure)))
        else:
            events.append(ScoreEvent(bar, onset, "words", words))
    return events


def _list_heads(
    note: TypedNote, bar: int, onset: Fraction, slurs: tuple[str, ...]
) -> list[NoteHead]:
    heads = []
    for at, pitch in enumerate(note.pitches):
        marks = ["chord"] if at else []
        if note.is_grace:
            marks.append("grace")
        if note.trill_to is not None:
            marks.append("trill" if note.trill_kind is TrillKind.TRILL else "tremolo-pair")
        heads.append(
            NoteHead(
                bar,
                onset,
                note.length,
                pitch.letter,
                pitch.octave,
                alter=write_alter(pitch.alter_cents),
                sign=_sign_of(pitch),
                marks=tuple(marks),
                slurs=() if at else slurs,
                trill_to="" if note.trill_to is None else note.trill_to.canonical,
                fingerings=(note.fingering,) if note.fingering and not at else (),
            )
        )
    return heads


def _sign_of(pitch: WrittenPitch) -> str:
    """The nearest sign, as it would stand in print."""
    return name_sign(pitch.alter_cents, STEIN_ZIMMERMANN)
