"""Practices: start one, end it, look back."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.day import RoomWarming
from analysis.errors import AnalysisError
from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import TakeOffset
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import (
    fetch_open_practice,
    fetch_practice,
    find_open_practice,
)
from webapp.notebook.store.rows import Fingering, Instrument, Practice, Take, TuningNote
from webapp.notebook.takes.air_temperature import check_temperature
from webapp.notebook.takes.evidence import refresh_practice
from webapp.notebook.takes.offsets import take_offset
from webapp.notebook.takes.tuning_reference import (
    Reference,
    ReferenceNote,
    find_day,
    find_left_out,
    find_references,
    learn_warming,
)

NOTES_CHARACTERS = 20_000
REED_CHARACTERS = 200
FARTHEST_PULL_MM = 10.0


@dataclass(frozen=True, slots=True)
class PracticeDraft:
    """A practice as the player begins it.

    Left open, tuning A and reed are the instrument's, and the barrel is where it usually is.
    """

    tuning_a_hz: float | None = None
    air_temperature_c: float | None = None
    notes: str = ""
    reed: str = ""
    barrel_pull_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PracticeSummary:
    """A practice in a list."""

    practice: Practice
    take_count: int
    reference: Reference | None
    is_open: bool


@dataclass(frozen=True, slots=True)
class PracticeTake:
    """A take of a practice: from its target, and with the day taken out.

    A cold one was played before the first tuning note.
    """

    take: Take
    offset: TakeOffset | None
    relative: TakeOffset | None
    is_reference: bool
    is_cold: bool


@dataclass(frozen=True, slots=True)
class PracticePage:
    """A practice with its takes and its tuning notes."""

    practice: Practice
    instrument: Instrument
    takes: tuple[PracticeTake, ...]
    reference: Reference | None
    left_out: tuple[ReferenceNote, ...]
    recorded_note: TuningNote | None
    is_open: bool


def start_practice(notebook: Notebook, instrument_id: int, draft: PracticeDraft) -> int:
    """Begin a practice and return its number.

    Raises:
        NotInNotebook: no such instrument.
        Refused: a practice of this instrument is open already.
        FieldRefused: tuning A, temperature, reed or barrel pull cannot be kept.
    """
    check_temperature(draft.air_temperature_c)
    _check_pull(draft.barrel_pull_mm)
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        if find_open_practice(session, instrument_id, now_utc()) is not None:
            raise Refused("A session of this instrument is open already. End that one first.")
        practice = Practice(
            instrument_id=instrument_id,
            tuning_a_hz=_read_tuning(draft.tuning_a_hz or instrument.tuning_a_hz),
            air_temperature_c=draft.air_temperature_c,
            notes=draft.notes.strip()[:NOTES_CHARACTERS],
            reed=_read_reed(draft.reed),
            barrel_pull_mm=draft.barrel_pull_mm,
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
    reed: str = "",
    barrel_pull_mm: float | None = None,
) -> None:
    """Change the facts of an open practice.

    Takes that are there keep the tuning A and the temperature that they were made with. Left open,
    the tuning A stays as it is, the temperature is not known, the reed is the instrument's and the
    barrel is where it usually is.

    Raises:
        NotInNotebook: there is no such practice.
        Refused: it is over.
        FieldRefused: tuning A, temperature, reed or barrel pull cannot be kept.
    """
    check_temperature(air_temperature_c)
    _check_pull(barrel_pull_mm)
    with notebook.database.writing() as session:
        practice = fetch_open_practice(session, practice_id)
        practice.tuning_a_hz = _read_tuning(tuning_a_hz or practice.tuning_a_hz)
        practice.air_temperature_c = air_temperature_c
        practice.reed = _read_reed(reed)
        if practice.barrel_pull_mm != barrel_pull_mm:
            practice.barrel_pull_mm = barrel_pull_mm
            refresh_practice(session, practice_id)


def end_practice(notebook: Notebook, practice_id: int) -> None:
    """End a practice; one that has ended stays as it is.

    Raises:
        NotInNotebook: there is no such practice.
    """
    with notebook.database.writing() as session:
        practice = fetch_practice(session, practice_id)
        practice.ended_at = practice.ended_at or now_utc()


def list_practices(notebook: Notebook, instrument_id: int) -> tuple[PracticeSummary, ...]:
    """Return the practices of an instrument, newest first."""
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


def learn_room_warming(summaries: Sequence[PracticeSummary]) -> RoomWarming:
    """Learn from the practices of one instrument how far a warmer room raises it."""
    references = {each.practice.id: each.reference for each in summaries if each.reference}
    return learn_warming((each.practice for each in summaries), references)


def find_current_practice(notebook: Notebook, instrument_id: int) -> Practice | None:
    """Return the practice of an instrument that is open now, if one is."""
    with notebook.database.reading() as session:
        return find_open_practice(session, instrument_id, now_utc())


def open_practice(notebook: Notebook, practice_id: int) -> PracticePage:
    """Return a practice with its takes.

    Raises:
        NotInNotebook: there is no such practice.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
        reference = find_references(session, [practice_id]).get(practice_id)
        left_out = find_left_out(session, practice_id)
        takes = load_takes(session, practice_id)
        newest = session.scalars(
            select(TuningNote)
            .where(TuningNote.practice_id == practice_id)
            .order_by(TuningNote.id.desc())
            .limit(1)
        ).first()
    return PracticePage(
        practice=practice,
        instrument=practice.instrument,
        takes=tuple(_compare(take, practice_id, reference) for take in takes),
        reference=reference,
        left_out=left_out,
        recorded_note=newest if newest is not None and newest.clip_name else None,
        is_open=practice.is_open_at(now_utc()),
    )


def load_takes(session: Session, practice_id: int) -> tuple[Take, ...]:
    """Return the takes of a practice with their fingerings and measurements, oldest first."""
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
    return tuple(session.scalars(query))


def _compare(take: Take, practice_id: int, reference: Reference | None) -> PracticeTake:
    target = SoundingPitch(take.owner.target_cents)
    day = find_day(take, practice_id, reference, target)
    return PracticeTake(
        take, take_offset(take, target), day.relative, day.is_reference, day.is_cold
    )


def _check_pull(barrel_pull_mm: float | None) -> None:
    if barrel_pull_mm is not None and not 0.0 <= barrel_pull_mm <= FARTHEST_PULL_MM:
        raise FieldRefused(
            "barrel_pull_mm",
            f"A barrel pulled by {barrel_pull_mm:g} mm was entered; give 0 to "
            f"{FARTHEST_PULL_MM:g} mm, or leave it open.",
        )


def _read_reed(reed: str) -> str | None:
    found = reed.strip()
    if len(found) > REED_CHARACTERS:
        raise FieldRefused(
            "reed", f"A reed of {len(found)} characters is too long; {REED_CHARACTERS} are enough."
        )
    return found or None


def _read_tuning(tuning_a_hz: float) -> float:
    try:
        return Tuning(tuning_a_hz).a4_hz
    except AnalysisError as error:
        raise FieldRefused("tuning_a_hz", str(error)) from error
