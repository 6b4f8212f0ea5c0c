"""Notes of a part from its heads: chords, ties, slurs, trills and tremolos joined.

A tie makes one note of two heads at the same pitch; where the pitch differs it is a slur. A tremolo
of two notes is one note with the other beside it, as long as both.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

from analysis.notation.reading_marks import MOST_TEXTS
from analysis.notation.transcript import NoteHead, ScoreEvent
from analysis.pitch import PitchOutOfRange, WrittenPitch
from analysis.score.heads import AlteredHead
from analysis.score.parts import NoteFlag, PartNote, TrillKind
from analysis.score.sign_resolution import SignFlag
from analysis.score.transposing import PitchMap
from analysis.score.trills import Trill, TrillReader
from analysis.score.voices import group_chords

_LEVELS = frozenset({"pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "n"})
_LEVEL_AFTER = {"fp": "p", "ffp": "p", "sfp": "p", "sfpp": "pp", "pf": "f"}


@dataclass(slots=True)
class NoteList:
    """Notes as they are joined, and the heads whose pitch cannot be written."""

    notes: list[PartNote] = field(default_factory=list)
    seconds: set[int] = field(default_factory=set)  # indices of the second notes of tremolos
    has_open_tie: bool = False
    unwritable: list[int] = field(default_factory=list)


class DynamicLevels:
    """The dynamics in force, by place."""

    def __init__(self, events: Iterable[ScoreEvent]) -> None:
        self._marks = sorted(
            (event.bar, event.onset, _LEVEL_AFTER.get(event.value, event.value))
            for event in events
            if event.kind == "dynamics" and (event.value in _LEVELS or event.value in _LEVEL_AFTER)
        )
        self._at = 0
        self._level = ""

    def level_at(self, head: NoteHead) -> str:
        """Return the level at a head; heads must come in the order of time."""
        while self._at < len(self._marks) and self._marks[self._at][:2] <= (head.bar, head.onset):
            self._level = self._marks[self._at][2]
            self._at += 1
        return self._level


def join_notes(
    line: Sequence[AlteredHead],
    *,
    bar_starts: Sequence[Fraction],
    pitch_map: PitchMap,
    events: Sequence[ScoreEvent],
    trill_reader: TrillReader,
) -> NoteList:
    """Join the heads of one line, in the order of time, to notes."""
    joined = NoteList()
    dynamics = DynamicLevels(events)
    groups = group_chords(line)
    for group, is_slurred in zip(groups, _find_slurred(groups), strict=True):
        trill_reader.pass_group(group)
        level = dynamics.level_at(group[0].head)
        is_tied = any(each.is_tied for each in group)
        start = bar_starts[group[0].head.bar] + group[0].head.onset
        try:
            note = _make_note(
                group,
                pitch_map,
                trill_reader.read_trill(group),
                index=len(joined.notes),
                start=start,
                is_slurred=is_slurred or is_tied,  # a tie to another pitch is a slur, too
                dynamic=level,
            )
        except PitchOutOfRange:
            joined.unwritable += [each.head.bar for each in group]
            continue
        marks = {mark for each in group for mark in each.head.marks}
        if "tremolo-stop" in marks:
            joined.seconds.add(note.index)
        if joined.has_open_tie and not is_tied:
            _flag_tie(joined.notes)
        joined.has_open_tie = "tie-start" in marks
        _append(joined.notes, note, group)
    if joined.has_open_tie:
        _flag_tie(joined.notes)
    if any(note.trill_kind is TrillKind.TREMOLO for note in joined.notes):
        pairs = enumerate(_join_tremolos(joined))
        joined.notes = [replace(note, index=index) for index, note in pairs]
    return joined


def _make_note(
    group: Sequence[AlteredHead],
    pitch_map: PitchMap,
    trill: Trill,
    *,
    index: int,
    start: Fraction,
    is_slurred: bool,
    dynamic: str,
) -> PartNote:
    """Make one note of the heads that sound together."""
    head = group[0].head
    segment = pitch_map.segment_at(head.bar, head.onset)
    flags: list[SignFlag | NoteFlag] = [flag for each in group for flag in each.resolved.flags]
    pitches = []
    for each in group:
        pitch = name_pitch(each.head.step, each.head.octave, each.resolved.alter_cents)
        if pitch.letter != each.head.step:
            flags.append(NoteFlag.RESPELLED)
        pitches.append(pitch_map.to_written(pitch, segment))
    if len(pitches) > 1:
        pitches.sort(key=lambda pitch: pitch.cents)
    kind, other, is_assumed = trill
    if is_assumed:
        flags.append(NoteFlag.TRILL_ASSUMED)
    if kind is TrillKind.TREMOLO and other is None:
        flags.append(NoteFlag.LONE_TREMOLO)  # taken away again when the second note comes
    return PartNote(
        index=index,
        bar=head.bar,
        last_bar=head.bar,
        onset=head.onset,
        start=start,
        duration=head.duration,
        written=pitches[0],
        sounding=pitch_map.to_sounding(pitches[0], segment),
        segment=segment.index,
        chord=tuple(pitches) if len(pitches) > 1 else (),
        is_slurred=is_slurred,
        is_grace="grace" in head.marks,
        trill_kind=kind,
        trill_to=other,
        fingerings=_unique(text for each in group for text in each.head.fingerings),
        techniques=_unique(text for each in group for text in each.head.techniques),
        articulations=_unique(text for each in group for text in each.head.articulations),
        dynamic=dynamic,
        has_fermata=any("fermata" in each.head.marks for each in group),
        flags=tuple(dict.fromkeys(flags)),
    )


@lru_cache(maxsize=2048)
def name_pitch(step: str, octave: int, alter_cents: Fraction) -> WrittenPitch:
    """Return the pitch of a letter and its alteration; named anew where no letter is altered so.

    >>> name_pitch("D", 5, Fraction(-50)).canonical, name_pitch("E", 4, Fraction(-300)).canonical
    ('D5-50c', 'C#4')
    """
    natural = WrittenPitch(step, Fraction(0), octave)
    try:
        return natural.raised_by(alter_cents)
    except PitchOutOfRange:
        return WrittenPitch.from_cents(natural.cents + alter_cents)


def _append(notes: list[PartNote], note: PartNote, group: Sequence[AlteredHead]) -> None:
    """Add a note, or lengthen the one that is tied to it."""
    before = notes[-1] if notes else None
    is_tied = all(each.is_tied for each in group)
    if before is not None and is_tied and _is_same(before, note):
        notes[-1] = replace(
            before,
            duration=note.start + note.duration - before.start,
            last_bar=note.last_bar,
            is_tied=True,
            trill_kind=before.trill_kind or note.trill_kind,
            trill_to=before.trill_to or note.trill_to,
            fingerings=_unique((*before.fingerings, *note.fingerings)),
            techniques=_unique((*before.techniques, *note.techniques)),
            has_fermata=before.has_fermata or note.has_fermata,
        )
        return
    notes.append(note)


def _flag_tie(notes: list[PartNote]) -> None:
    """Say of the last note that its tie leads nowhere."""
    notes[-1] = replace(notes[-1], flags=(*notes[-1].flags, NoteFlag.TIE_TO_NOWHERE))


def _is_same(before: PartNote, note: PartNote) -> bool:
    """Whether two tied notes are one: the same pitches, and nothing between them."""
    return (
        before.written == note.written
        and before.chord == note.chord
        and before.end == note.start
        and not note.is_grace
    )


def _find_slurred(groups: Sequence[Sequence[AlteredHead]]) -> list[bool]:
    """Of each note whether a slur joins it to the one before it.

    A slur that is never ended, or never begun, joins nothing.
    """
    open_slurs: dict[str, int] = {}
    changes = [0] * (len(groups) + 1)
    for at, group in enumerate(groups):
        for text in sorted((text for each in group for text in each.head.slurs), reverse=True):
            kind, _, number = text.partition(" ")  # stops come before starts
            if kind == "start":
                open_slurs[number] = at
            elif number in open_slurs:
                changes[open_slurs.pop(number) + 1] += 1
                changes[at + 1] -= 1
    return [under > 0 for under in accumulate(changes[:-1])]


def _join_tremolos(joined: NoteList) -> Iterator[PartNote]:
    """Make one note of the two of a tremolo."""
    waiting: PartNote | None = None
    for note in joined.notes:
        if waiting is not None and note.index in joined.seconds:
            yield replace(
                waiting,
                duration=waiting.duration + note.duration,
                last_bar=note.last_bar,
                trill_to=note.written,
                flags=tuple(each for each in waiting.flags if each is not NoteFlag.LONE_TREMOLO),
            )
            waiting = None
            continue
        if waiting is not None:
            yield waiting
        is_open = note.trill_kind is TrillKind.TREMOLO and note.trill_to is None
        waiting = note if is_open and note.index not in joined.seconds else None
        if waiting is None:
            yield note
    if waiting is not None:
        yield waiting


def _unique(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))[:MOST_TEXTS]
