"""Measure again what an earlier version of the analysis measured, and say what moved.

Each take is a transaction of its own, so the work can be stopped and taken up again: what is done
has a measurement of the present version. Earlier measurements stay.
"""

from dataclasses import dataclass

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.errors import AnalysisError
from analysis.pitch import SoundingPitch, Tuning
from analysis.recording import METHOD_VERSION, TakeMeasurement, measure_clip, write_measurement
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Measurement, Practice, Take, TuningNote
from webapp.notebook.takes.evidence import refresh_evidence, refresh_practice
from webapp.notebook.takes.offsets import target_of
from webapp.notebook.takes.takes import row_of


@dataclass(frozen=True, slots=True)
class Moved:
    """One take measured anew: its offset from the target before and after, or what went wrong."""

    take_id: int
    target_text: str
    instrument_name: str
    before_version: str
    before_verdict: str
    after_verdict: str
    before_cents: float | None
    after_cents: float | None
    problem: str = ""

    @property
    def moved_cents(self) -> float | None:
        """How far the number moved; None where one of the two has no pitch."""
        if self.before_cents is None or self.after_cents is None:
            return None
        return self.after_cents - self.before_cents


def find_outdated(notebook: Notebook) -> tuple[int, ...]:
    """Return the takes whose newest measurement has another method version, the bin included."""
    newest = select(func.max(Measurement.id)).group_by(Measurement.take_id)
    query = (
        select(Measurement.take_id)
        .where(Measurement.id.in_(newest), Measurement.method_version != METHOD_VERSION)
        .order_by(Measurement.take_id)
    )
    with notebook.database.reading() as session:
        return tuple(session.scalars(query))


def find_outdated_notes(notebook: Notebook) -> tuple[int, ...]:
    """Return the recorded tuning notes that were not left out and have another method version."""
    newest = select(func.max(TuningNote.id)).group_by(TuningNote.clip_name)
    query = (
        select(TuningNote.id)
        .where(
            TuningNote.id.in_(newest),
            TuningNote.clip_name.is_not(None),
            TuningNote.is_left_out.is_(False),
            TuningNote.method_version != METHOD_VERSION,
        )
        .order_by(TuningNote.id)
    )
    with notebook.database.reading() as session:
        return tuple(session.scalars(query))


def remeasure_take(notebook: Notebook, take_id: int) -> Moved:
    """Measure a take again, keep both numbers, and pool its fingering anew.

    A take whose clip is missing or cannot be decoded any more keeps what it has; the result says
    so.

    Raises:
        NotInNotebook: there is no such take.
    """
    with notebook.database.reading() as session:
        take = _fetch_take(session, take_id)
    target = target_of(take)
    target_hz = target.hz(Tuning(take.tuning_a_hz)) if target is not None else None
    try:
        path = notebook.clips.find(take.clip_name)
        measured = measure_clip(path, expected_f0_hz=target_hz)
    except (AnalysisError, NotebookError, OSError) as error:
        return _compare(take, None, str(error))
    with notebook.database.writing() as session:
        # Back on a version it was measured with before: the same version says the same, once.
        session.execute(
            delete(Measurement).where(
                Measurement.take_id == take_id,
                Measurement.method_version == measured.method_version,
            )
        )
        row = row_of(measured)
        row.take_id = take_id
        session.add(row)
        session.flush()
        if take.fingering_id is not None:
            fingering = fetch(session, Fingering, take.fingering_id, with_binned=True)
            refresh_evidence(session, fingering)
    return _compare(take, measured, "")


def remeasure_note(notebook: Notebook, note_id: int) -> str:
    """Measure the recording of a tuning note again; the earlier row stays.

    Returns:
        What went wrong, in words; empty where nothing did.
    """
    with notebook.database.reading() as session:
        options = [joinedload(TuningNote.practice).joinedload(Practice.instrument)]
        note = session.get_one(TuningNote, note_id, options=options)
    target = note.practice.instrument.transposition.to_sounding(note.written)
    try:
        path = notebook.clips.find(note.clip_name or "")
        measured = measure_clip(path, expected_f0_hz=target.hz(Tuning(note.practice.tuning_a_hz)))
    except (AnalysisError, NotebookError, OSError) as error:
        return str(error)
    with notebook.database.writing() as session:
        session.add(
            TuningNote(
                practice_id=note.practice_id,
                written_text=note.written_text,
                clip_name=note.clip_name,
                clip_format=note.clip_format,
                sha256=note.sha256,
                original_name=note.original_name,
                method_version=measured.method_version,
                verdict=measured.verdict.value,
                f0_hz=measured.f0_hz,
                f0_uncertainty_cents=measured.f0_uncertainty_cents,
                details=write_measurement(measured),
                recorded_at=note.recorded_at or note.created_at,
            )
        )
        refresh_practice(session, note.practice_id)
    return ""


def _fetch_take(session: Session, take_id: int) -> Take:
    options = (
        selectinload(Take.measurements),
        joinedload(Take.fingering),
        joinedload(Take.instrument),
    )
    return fetch(session, Take, take_id, *options, with_binned=True)


def _compare(take: Take, measured: TakeMeasurement | None, problem: str) -> Moved:
    before = take.measurement
    after_hz = measured.f0_hz if measured else None
    return Moved(
        take_id=take.id,
        target_text=take.fingering.target_text if take.fingering else take.meant_text or "",
        instrument_name=take.instrument.name,
        before_version=before.method_version,
        before_verdict=before.verdict,
        after_verdict=measured.verdict.value if measured else before.verdict,
        before_cents=_offset_cents(take, before.f0_hz),
        after_cents=_offset_cents(take, after_hz),
        problem=problem,
    )


def _offset_cents(take: Take, f0_hz: float | None) -> float | None:
    target = target_of(take)
    if f0_hz is None or target is None:
        return None
    return target.interval_to(SoundingPitch.from_hz(f0_hz, Tuning(take.tuning_a_hz)))
