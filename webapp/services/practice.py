"""Practice sessions: start one, give it a tuning note, end it, look back."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.errors import AnalysisError
from analysis.pitch import NoteNames, SoundingPitch, Tuning, WrittenPitch, format_cents
from analysis.recording import (
    TakeMeasurement,
    TakeOffset,
    explain,
    measure_clip,
    relative_offset,
    sniff_format,
)
from webapp.clips import StagedClip
from webapp.errors import ClipRefused, FieldRefused, NotInNotebook, Refused
from webapp.models import Fingering, Instrument, Practice, Take, TuningNote, now_utc
from webapp.notebook import Notebook
from webapp.services.evidence import take_offset
from webapp.services.finding_rows import fetch
from webapp.services.fingerings import read_target
from webapp.services.sessions import fetch_open_practice, fetch_practice, find_open_practice
from webapp.services.takes import NAME_CHARACTERS, SNIFFED_BYTES, check_temperature
from webapp.services.tuning_reference import (
    Reference,
    find_references,
    recorded_offset_cents,
)

NOTES_CHARACTERS = 20_000
FARTHEST_TUNING_NOTE_CENTS = 60.0


@dataclass(frozen=True, slots=True)
class PracticeDraft:
    """A session as the player begins it; the tuning A is the instrument's where it is left open."""

    tuning_a_hz: float | None = None
    air_temperature_c: float | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class PracticeSummary:
    """A session in a list."""

    practice: Practice
    take_count: int
    reference: Reference | None
    is_open: bool


@dataclass(frozen=True, slots=True)
class PracticeTake:
    """A take of a session: from its target, and from the tuning note of the day."""

    take: Take
    offset: TakeOffset | None
    relative: TakeOffset | None
    is_reference: bool


@dataclass(frozen=True, slots=True)
class PracticePage:
    """A session with its takes."""

    practice: Practice
    instrument: Instrument
    takes: tuple[PracticeTake, ...]
    reference: Reference | None
    recorded_note: TuningNote | None
    is_open: bool


@dataclass(frozen=True, slots=True)
class KeptTuningNote:
    """A recorded tuning note as it was kept, now or when the same recording came before."""

    note_id: int
    measured: TakeMeasurement
    offset_cents: float
    is_new: bool


def start_practice(notebook: Notebook, instrument_id: int, draft: PracticeDraft) -> int:
    """Begin a session and return its number.

    Raises:
        NotInNotebook: no such instrument.
        Refused: a session of this instrument is open already.
        FieldRefused: tuning A or temperature cannot be kept.
    """
    check_temperature(draft.air_temperature_c)
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        if find_open_practice(session, instrument_id, now_utc()) is not None:
            raise Refused("A session of this instrument is open already. End that one first.")
        practice = Practice(
            instrument_id=instrument_id,
            tuning_a_hz=_read_tuning(draft.tuning_a_hz or instrument.tuning_a_hz),
            air_temperature_c=draft.air_temperature_c,
            notes=draft.notes.strip()[:NOTES_CHARACTERS],
        )
        session.add(practice)
        session.flush()
        return practice.id


def change_practice(
    notebook: Notebook,
    practice_id: int,
    *,
    tuning_a_hz: float | None,
    air_temperature_c: float | None,
) -> None:
    """Change the tuning A and the temperature of an open session.

    Takes that are there keep what they were made with. Left open, the tuning A stays as it is, and
    the temperature is not known.

    Raises:
        NotInNotebook: there is no such session.
        Refused: it is over.
        FieldRefused: tuning A or temperature cannot be kept.
    """
    check_temperature(air_temperature_c)
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        practice.tuning_a_hz = _read_tuning(tuning_a_hz or practice.tuning_a_hz)
        practice.air_temperature_c = air_temperature_c


def end_practice(notebook: Notebook, practice_id: int) -> None:
    """End a session; one that has ended stays as it is.

    Raises:
        NotInNotebook: there is no such session.
    """
    with notebook.database.writing() as session:
        practice = fetch_practice(session, practice_id)
        practice.ended_at = practice.ended_at or now_utc()


def list_practices(notebook: Notebook, instrument_id: int) -> tuple[PracticeSummary, ...]:
    """Return the sessions of an instrument, newest first."""
    with notebook.database.reading() as session:
        practices = list(
            session.scalars(
                select(Practice)
                .where(Practice.instrument_id == instrument_id)
                .order_by(Practice.started_at.desc(), Practice.id.desc())
            )
        )
        ids = [practice.id for practice in practices]
        references = find_references(session, ids)
        counted = (
            select(Take.practice_id, func.count())
            .where(Take.practice_id.in_(ids), Take.deleted_at.is_(None))
            .group_by(Take.practice_id)
        )
        counts = dict(session.execute(counted).all())
    return tuple(
        PracticeSummary(
            each, counts.get(each.id, 0), references.get(each.id), each.is_open_at(now_utc())
        )
        for each in practices
    )


def find_current_practice(notebook: Notebook, instrument_id: int) -> Practice | None:
    """Return the session of an instrument that is open now, if one is."""
    with notebook.database.reading() as session:
        return find_open_practice(session, instrument_id, now_utc())


def open_practice(notebook: Notebook, practice_id: int) -> PracticePage:
    """Return a session with its takes.

    Raises:
        NotInNotebook: there is no such session.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
        reference = find_references(session, [practice_id]).get(practice_id)
        takes = _load_takes(session, practice_id)
        newest = session.scalars(
            select(TuningNote)
            .where(TuningNote.practice_id == practice_id)
            .order_by(TuningNote.id.desc())
            .limit(1)
        ).first()
    return PracticePage(
        practice=practice,
        instrument=practice.instrument,
        takes=tuple(_compare(take, reference) for take in takes),
        reference=reference,
        recorded_note=newest if newest is not None and newest.clip_name else None,
        is_open=practice.is_open_at(now_utc()),
    )


def choose_tuning_take(notebook: Notebook, practice_id: int, take_id: int) -> None:
    """Let a take of this session stand for the day.

    Raises:
        NotInNotebook: no such session or take.
        FieldRefused: the take belongs to another session, or cannot serve.
    """
    with notebook.database.writing() as session:
        fetch_practice(session, practice_id)
        take = next(
            (each for each in _load_takes(session, practice_id) if each.id == take_id), None
        )
        if take is None:
            raise FieldRefused("take", "Choose one of the takes of this session.")
        compared = _compare(take, None)
        if compared.offset is None:
            raise FieldRefused("take", "No pitch was found in this take; choose another one.")
        _refuse_far("take", compared.offset.offset_cents, take.fingering.written)
        session.add(
            TuningNote(
                practice_id=practice_id,
                written_text=take.fingering.target_text,
                take_id=take_id,
            )
        )


def attach_tuning_note(
    notebook: Notebook,
    practice_id: int,
    upload: IO[bytes],
    *,
    written: str,
    original_name: str,
    names: NoteNames,
    is_once: bool = False,
) -> KeptTuningNote:
    """Keep and measure a recording of the tuning note; the newest one counts.

    With `is_once` a recording that is there already is not kept again: its answer was lost on the
    way, and it was sent once more.

    Raises:
        NotInNotebook: no such session.
        ClipRefused: the file is no recording that can be measured.
        FieldRefused: the note cannot be read, or something else sounds.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
    note = _read_note(written, practice.instrument, names)
    target = practice.instrument.transposition.to_sounding(note)
    with notebook.clips.staged(upload) as staged:
        known = _find_same(notebook, practice, staged.sha256) if is_once else None
        if known is not None:
            return known
        clip_format, measured = _measure(staged, target.hz(Tuning(practice.tuning_a_hz)))
        if measured.f0_hz is None:
            raise ClipRefused(explain(measured))
        offset_cents = recorded_offset_cents(practice, note, measured.f0_hz)
        _refuse_far("written", offset_cents, note)
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
            details=measured.to_json(),
        )
    with notebook.database.writing() as session:
        session.add(row)
        session.flush()
        return KeptTuningNote(row.id, measured, offset_cents, is_new=True)


def _find_same(notebook: Notebook, practice: Practice, sha256: str) -> KeptTuningNote | None:
    query = (
        select(TuningNote)
        .where(TuningNote.practice_id == practice.id, TuningNote.sha256 == sha256)
        .order_by(TuningNote.id.desc())
    )
    with notebook.database.reading() as session:
        row = session.scalars(query.limit(1)).first()
    if row is None or row.details is None or row.f0_hz is None:
        return None
    offset_cents = recorded_offset_cents(practice, row.written, row.f0_hz)
    measured = TakeMeasurement.from_json(row.details)
    return KeptTuningNote(row.id, measured, offset_cents, is_new=False)


def find_tuning_clip(notebook: Notebook, practice_id: int) -> tuple[TuningNote, Path]:
    """Return the newest recording of a session's tuning note and the path of its file.

    Raises:
        NotInNotebook: there is no such session, or its tuning note is no recording of its own.
        ClipMissing: its file is gone.
    """
    note = open_practice(notebook, practice_id).recorded_note
    if note is None:
        raise NotInNotebook("This session has no recording of a tuning note.")
    return note, notebook.clips.find(note.clip_name or "")


def _load_takes(session: Session, practice_id: int) -> Iterable[Take]:
    query = (
        select(Take)
        .join(Take.fingering)
        .where(
            Take.practice_id == practice_id,
            Take.deleted_at.is_(None),
            Fingering.deleted_at.is_(None),
        )
        .options(joinedload(Take.fingering), selectinload(Take.measurements))
        .order_by(Take.recorded_at, Take.id)
    )
    return list(session.scalars(query))


def _compare(take: Take, reference: Reference | None) -> PracticeTake:
    offset = take_offset(take, SoundingPitch(take.fingering.target_cents))
    is_reference = reference is not None and reference.take_id == take.id
    relative = None
    if offset is not None and reference is not None and not is_reference:
        relative = relative_offset(offset, reference.at(take.tuning_a_hz))
    return PracticeTake(take, offset, relative, is_reference)


def _read_tuning(tuning_a_hz: float) -> float:
    try:
        return Tuning(tuning_a_hz).a4_hz
    except AnalysisError as error:
        raise FieldRefused("tuning_a_hz", str(error)) from error


def _read_note(text: str, instrument: Instrument, names: NoteNames) -> WrittenPitch:
    try:
        return read_target(text, instrument, names)
    except FieldRefused as error:
        raise FieldRefused("written", str(error)) from error


def _measure(staged: StagedClip, target_hz: float) -> tuple[str, TakeMeasurement]:
    try:
        with staged.path.open("rb") as file:
            clip_format = sniff_format(file.read(SNIFFED_BYTES))
        return clip_format.value, measure_clip(staged.path, expected_f0_hz=target_hz)
    except AnalysisError as error:
        raise ClipRefused(str(error)) from error


def _refuse_far(field: str, offset_cents: float, written: WrittenPitch) -> None:
    if abs(offset_cents) > FARTHEST_TUNING_NOTE_CENTS:
        raise FieldRefused(
            field,
            f"This recording sounds {format_cents(offset_cents, decimals=0)} cents from "
            f"{written.canonical}. Is it another note? A tuning note lies within "
            f"{FARTHEST_TUNING_NOTE_CENTS:g} cents.",
        )
