"""Tuning reference of a practice: how far its tuning note lies from the tuning A.

A take's offset is measured against equal temperament at its tuning A. Cold reeds and warm rooms
move everything on a day together; the tuning note of that day moves with it. The relative offset
takes it out: take minus tuning note, with both uncertainties (`relative_offset`).
"""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.pitch import SoundingPitch, Tuning, WrittenPitch
from analysis.recording import (
    PooledOffset,
    TakeOffset,
    TakeWarning,
    explain_warning,
    pool_takes,
    relative_offset,
)
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Practice, Take, TuningNote
from webapp.notebook.takes.offsets import take_offset

MISSING = f"Tuning reference missing. {explain_warning(TakeWarning.NO_TUNING_REFERENCE)}"


@dataclass(frozen=True, slots=True)
class Reference:
    """The tuning note of a practice: which note, how far off it lay at a tuning A, and its take.

    The take is none where the note is a recording of its own.
    """

    written: WrittenPitch
    offset: TakeOffset
    take_id: int | None
    tuning_a_hz: float

    def at(self, tuning_a_hz: float) -> TakeOffset:
        """Return how far it lay at another tuning A: a higher A leaves the same sound lower."""
        if tuning_a_hz == self.tuning_a_hz:
            return self.offset
        higher_cents = 1200 * math.log2(tuning_a_hz / self.tuning_a_hz)
        return TakeOffset(self.offset.offset_cents - higher_cents, self.offset.uncertainty_cents)


@dataclass(frozen=True, slots=True)
class TakeDay:
    """A take's practice, with its offset against the tuning note of that practice, if it has one.

    The take that is the tuning note itself has none: it would always be 0.
    """

    practice_id: int
    reference: Reference | None
    relative: TakeOffset | None
    is_reference: bool = False


@dataclass(frozen=True, slots=True)
class Days:
    """The takes of a fingering by their practices: what they say with the day taken out."""

    by_take: Mapping[int, TakeDay]
    pooled: PooledOffset | None
    missing_count: int


def find_references(session: Session, practice_ids: Collection[int]) -> dict[int, Reference]:
    """Return the tuning notes of practices; one whose take lies in the bin is none."""
    if not practice_ids:
        return {}
    query = (
        select(TuningNote)
        .where(TuningNote.practice_id.in_(practice_ids))
        .options(
            joinedload(TuningNote.practice).joinedload(Practice.instrument),
            joinedload(TuningNote.take).selectinload(Take.measurements),
            joinedload(TuningNote.take).joinedload(Take.fingering),
        )
        .order_by(TuningNote.id)
    )
    newest = {note.practice_id: note for note in session.scalars(query)}
    found = {practice_id: read_reference(note) for practice_id, note in newest.items()}
    return {key: reference for key, reference in found.items() if reference is not None}


def read_reference(note: TuningNote) -> Reference | None:
    """Return what a tuning note says; its take and its practice with instrument must be loaded."""
    if note.take is not None:
        target = SoundingPitch(note.take.owner.target_cents)
        offset = None if note.take.deleted_at else take_offset(note.take, target)
        if offset is None:
            return None
        return Reference(note.written, offset, note.take_id, note.take.tuning_a_hz)
    if note.f0_hz is None or note.f0_uncertainty_cents is None:
        return None
    offset_cents = recorded_offset_cents(note.practice, note.written, note.f0_hz)
    offset = TakeOffset(offset_cents, note.f0_uncertainty_cents)
    return Reference(note.written, offset, None, note.practice.tuning_a_hz)


def recorded_offset_cents(practice: Practice, written: WrittenPitch, f0_hz: float) -> float:
    """Return how far a frequency lies from a written note at the tuning A of a practice."""
    target = practice.instrument.transposition.to_sounding(written)
    return target.interval_to(SoundingPitch.from_hz(f0_hz, Tuning(practice.tuning_a_hz)))


def open_days(notebook: Notebook, fingering: Fingering, takes: Collection[Take]) -> Days:
    """Compare the takes of a fingering with the tuning notes of their practices."""
    with notebook.database.reading() as session:
        return find_days(session, fingering, takes)


def find_days(session: Session, fingering: Fingering, takes: Collection[Take]) -> Days:
    """Compare the takes of a fingering with their tuning notes; one query at most."""
    practice_ids = {take.practice_id for take in takes if take.practice_id is not None}
    references = find_references(session, practice_ids)
    target = SoundingPitch(fingering.target_cents)
    by_take = {
        take.id: _day_of(take, take.practice_id, references.get(take.practice_id), target)
        for take in takes
        if take.practice_id is not None
    }
    counting = {take.id for take in takes if take.counts}
    relative = [
        day.relative
        for take_id, day in by_take.items()
        if day.relative is not None and take_id in counting
    ]
    return Days(
        by_take=by_take,
        pooled=pool_takes(relative) if relative else None,
        missing_count=sum(day.reference is None for day in by_take.values()),
    )


def _day_of(
    take: Take, practice_id: int, reference: Reference | None, target: SoundingPitch
) -> TakeDay:
    offset = take_offset(take, target)
    is_reference = reference is not None and reference.take_id == take.id
    if offset is None or reference is None or is_reference:
        return TakeDay(practice_id, reference, None, is_reference)
    return TakeDay(practice_id, reference, relative_offset(offset, reference.at(take.tuning_a_hz)))
