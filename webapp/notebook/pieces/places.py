"""Places of a note in a part: where it stands, what comes before and after.

Pure. Notes are as written for an instrument of a transposition, whole octaves off where the part is
in another notation.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from analysis.pitch import PitchOutOfRange, Transposition, WrittenPitch
from analysis.score import PartNote, ScorePart
from webapp.notebook.pieces.needs import find_octaves, move_octaves


@dataclass(frozen=True, slots=True)
class NotePlace:
    """One place of a note: its bar's printed number, and the notes beside it (None at an end)."""

    note: PartNote
    bar_label: str
    before: WrittenPitch | None
    after: WrittenPitch | None


def list_written(
    part: ScorePart, transposition: Transposition
) -> Iterator[tuple[PartNote, WrittenPitch]]:
    """Go through the notes of a part that are for the instrument, as written for it."""
    octaves = [find_octaves(each, transposition) for each in part.segments]
    for note in part.notes:
        shift = octaves[note.segment]
        if shift is None or note.chord:
            continue
        try:
            yield note, move_octaves(note.written, shift)
        except PitchOutOfRange:
            continue


def find_places(
    part: ScorePart, transposition: Transposition, written: WrittenPitch
) -> tuple[NotePlace, ...]:
    """Return the places of a note, in the order of the part."""
    line = list(list_written(part, transposition))
    by_index = {note.index: pitch for note, pitch in line}
    return tuple(
        NotePlace(
            note,
            part.bars[note.bar].label or f"({note.bar + 1})",
            by_index.get(note.index - 1),
            by_index.get(note.index + 1),
        )
        for note, pitch in line
        if pitch.cents == written.cents
    )


def find_second(note: PartNote, written: WrittenPitch) -> WrittenPitch | None:
    """Return the other note of a trill, as written for the instrument as `written` is."""
    if note.trill_to is None:
        return None
    try:
        return move_octaves(note.trill_to, written.octave - note.written.octave)
    except PitchOutOfRange:
        return None
