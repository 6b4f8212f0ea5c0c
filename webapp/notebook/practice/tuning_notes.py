"""The tuning notes of a practice: takes of it, or recordings of their own.

Two notes tell a cold instrument from a pulled barrel, at the start of a practice and again after:
open G4 and B4, which a pulled barrel lowers by different amounts.
"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from analysis.pitch import (
    InstrumentKind,
    NoteNames,
    Sentence,
    SoundingPitch,
    Tuning,
    WrittenPitch,
    format_cents,
)
from analysis.recording import TakeMeasurement, explain, read_measurement, write_measurement
from webapp.notebook.practice.practice import load_takes, open_practice
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import ClipRefused, FieldRefused, NotInNotebook
from webapp.notebook.store.fetching import is_row_number
from webapp.notebook.store.note_refusals import NoteRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_practice
from webapp.notebook.store.rows import Practice, TuningNote
from webapp.notebook.takes.evidence import refresh_practice
from webapp.notebook.takes.incoming import LONGEST_WAITED_FOR_S, measure_staged
from webapp.notebook.takes.offsets import take_offset
from webapp.notebook.takes.takes import NAME_CHARACTERS, TakeNote, check_note
from webapp.notebook.takes.tuning_reference import recorded_offset_cents
from webapp.notebook.targets.reading import read_target

FARTHEST_TUNING_NOTE_CENTS = 60.0
OPEN_G = WrittenPitch.from_canonical("G4")
LOW_CLARION_B = WrittenPitch.from_canonical("B4")


@dataclass(frozen=True, slots=True)
class KeptTuningNote:
    """A recorded tuning note as it was kept, now or when the same recording came before."""

    note_id: int
    measured: TakeMeasurement
    offset_cents: float
    is_new: bool


def tuning_notes_of(kind: InstrumentKind) -> tuple[WrittenPitch, WrittenPitch]:
    """Return the two tuning notes as the notation of a kind writes them: open G, and the low B.

    >>> from analysis.pitch import KINDS
    >>> [note.canonical for note in tuning_notes_of(KINDS["b-flat-bass-bass-clef"])]
    ['G3', 'B3']
    """
    return kind.from_treble_notation(OPEN_G), kind.from_treble_notation(LOW_CLARION_B)


def choose_tuning_take(notebook: Notebook, practice_id: int, take_id: int) -> None:
    """Let a take of this practice be a tuning note of the day.

    Raises:
        NotInNotebook: no such practice or take.
        FieldRefused: the take belongs to another practice, or cannot serve.
    """
    with notebook.database.writing() as session:
        fetch_practice(session, practice_id)
        takes = load_takes(session, practice_id)
        take = next((each for each in takes if each.id == take_id), None)
        if take is None:
            raise FieldRefused("take", "Choose one of the takes of this session.")
        offset = take_offset(take, SoundingPitch(take.owner.target_cents))
        if offset is None:
            raise FieldRefused("take", "No pitch was found in this take; choose another one.")
        _refuse_far(
            "take", offset.offset_cents, take.owner.written, find_preferences(session).names
        )
        session.add(
            TuningNote(
                practice_id=practice_id,
                written_text=take.owner.target_text,
                take_id=take_id,
            )
        )
        refresh_practice(session, practice_id)


def attach_tuning_note(
    notebook: Notebook,
    practice_id: int,
    upload: IO[bytes],
    *,
    written: str,
    original_name: str,
    names: NoteNames,
    recorded_at: datetime | None = None,
    is_once: bool = False,
) -> KeptTuningNote:
    """Keep and measure a recording of a tuning note; it was played now unless said otherwise.

    With `is_once` a recording that is there already is not kept again: its answer was lost on the
    way, and it was sent once more.

    Raises:
        NotInNotebook: no such practice.
        ClipRefused: the file is no recording that can be measured.
        NoteTooLong: it is longer than one note.
        FieldRefused: the note cannot be read, something else sounds, or it lies in the future.
    """
    check_note(TakeNote(recorded_at=recorded_at))
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
    note = read_target(written, practice.instrument, names, field="written")
    target = practice.instrument.transposition.to_sounding(note)
    with notebook.clips.staged(upload) as staged:
        if is_once:
            with notebook.database.reading() as session:
                known = _find_same(session, practice, staged.sha256)
            if known is not None:
                return known
        target_hz = target.hz(Tuning(practice.tuning_a_hz))
        clip_format, measured = measure_staged(staged, target_hz, LONGEST_WAITED_FOR_S)
        if measured.f0_hz is None:
            raise ClipRefused(explain(measured))
        offset_cents = recorded_offset_cents(practice, note, measured.f0_hz)
        _refuse_far("written", offset_cents, note, names)
        row = TuningNote(
            practice_id=practice_id,
            written_text=note.canonical,
            clip_name=notebook.clips.keep(staged, clip_format),
            clip_format=clip_format,
            sha256=staged.sha256,
            original_name=original_name[-NAME_CHARACTERS:],
            method_version=measured.method_version,
            verdict=measured.verdict.value,
            f0_hz=measured.f0_hz,
            f0_uncertainty_cents=measured.f0_uncertainty_cents,
            details=write_measurement(measured),
            recorded_at=recorded_at,
        )
    kept = _keep_row(notebook, practice, row, is_once=is_once)
    if kept is not None:
        notebook.clips.remove([row.clip_name or ""])
        return kept
    return KeptTuningNote(row.id, measured, offset_cents, is_new=True)


def leave_out_note(
    notebook: Notebook, practice_id: int, note_id: int, *, is_left_out: bool
) -> None:
    """Leave a tuning note out of what the day is told by, or let it count again.

    Raises:
        NotInNotebook: no such practice, or it has no such tuning note.
    """
    with notebook.database.writing() as session:
        fetch_practice(session, practice_id)
        row = session.get(TuningNote, note_id) if is_row_number(note_id) else None
        if row is None or row.practice_id != practice_id:
            raise NotInNotebook("This session has no such tuning note. Reload its page.")
        # the same recording measured by earlier versions, and a take that was chosen twice
        is_same = (
            TuningNote.take_id == row.take_id
            if row.clip_name is None
            else TuningNote.clip_name == row.clip_name
        )
        session.execute(
            update(TuningNote)
            .where(TuningNote.practice_id == practice_id, is_same)
            .values(is_left_out=is_left_out)
        )
        refresh_practice(session, practice_id)


def find_tuning_clip(notebook: Notebook, practice_id: int) -> tuple[TuningNote, Path]:
    """Return the newest recording of a practice's tuning note and the path of its file.

    Raises:
        NotInNotebook: there is no such practice, or its tuning note is no recording of its own.
        ClipMissing: its file is gone.
    """
    note = open_practice(notebook, practice_id).recorded_note
    if note is None:
        raise NotInNotebook("This session has no recording of a tuning note.")
    return note, notebook.clips.find(note.clip_name or "")


def _keep_row(
    notebook: Notebook, practice: Practice, row: TuningNote, *, is_once: bool
) -> KeptTuningNote | None:
    """Keep a tuning note, or return what was kept when the same one came at the same time."""
    with notebook.database.writing() as session:
        kept = _find_same(session, practice, row.sha256 or "") if is_once else None
        if kept is None:
            session.add(row)
            refresh_practice(session, practice.id)
        return kept


def _find_same(session: Session, practice: Practice, sha256: str) -> KeptTuningNote | None:
    query = (
        select(TuningNote)
        .where(TuningNote.practice_id == practice.id, TuningNote.sha256 == sha256)
        .order_by(TuningNote.id.desc())
    )
    row = session.scalars(query.limit(1)).first()
    if row is None or row.details is None or row.f0_hz is None:
        return None
    offset_cents = recorded_offset_cents(practice, row.written, row.f0_hz)
    measured = read_measurement(row.details)
    return KeptTuningNote(row.id, measured, offset_cents, is_new=False)


def _refuse_far(field: str, offset_cents: float, written: WrittenPitch, names: NoteNames) -> None:
    if abs(offset_cents) > FARTHEST_TUNING_NOTE_CENTS:
        said = Sentence(
            f"This recording sounds {format_cents(offset_cents, decimals=0)} cents from ",
            written,
            ". Is it another note? A tuning note lies within "
            f"{FARTHEST_TUNING_NOTE_CENTS:g} cents.",
        )
        raise NoteRefused(field, said, names)
