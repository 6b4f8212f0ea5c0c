"""Tuning reference of a practice: what its tuning notes say of the day, and the day taken out.

A take's offset is measured against equal temperament at its tuning A. Cold reeds, warm rooms and
pulled barrels move everything on a day; the tuning notes of that day move with it, and the state of
the day is inferred from them (`analysis.day`). The relative offset takes it out: take minus what
the day does to its note at its moment, with both uncertainties (`relative_offset`). With a single
tuning note that is its very offset for every note.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.day import (
    OCCASION_MIN,
    DayState,
    PlayedNote,
    RoomWarming,
    WarmDay,
    find_day_state,
    find_pull_effect,
    fit_warming,
)
from analysis.pitch import SoundingPitch, Tuning, WrittenPitch, register_of
from analysis.recording import (
    PooledOffset,
    TakeOffset,
    TakeWarning,
    explain_warning,
    pool_takes,
    relative_offset,
)
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Instrument, Practice, Take, TuningNote
from webapp.notebook.takes.offsets import take_offset

MISSING = explain_warning(TakeWarning.NO_TUNING_REFERENCE)
_STANDARD_A_HZ = 440.0
_SECONDS_A_MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class ReferenceNote:
    """A tuning note: which note, how far off it lay at a tuning A, when it was played, its take.

    The take is none where the note is a recording of its own.
    """

    note_id: int
    written: WrittenPitch
    offset: TakeOffset
    tuning_a_hz: float
    played_at: datetime
    take_id: int | None

    def at(self, tuning_a_hz: float) -> TakeOffset:
        """Return how far it lay at another tuning A: a higher A leaves the same sound lower."""
        return _at_tuning(self.offset, self.tuning_a_hz, tuning_a_hz)


@dataclass(frozen=True, slots=True)
class Reference:
    """The tuning notes of a practice that count, oldest first, and what they say of the day.

    Shifts are cents from the tuning A of the practice, `tuning_a_hz`.
    """

    notes: tuple[ReferenceNote, ...]
    state: DayState
    instrument: Instrument
    tuning_a_hz: float

    def correct(self, target: SoundingPitch, moment: datetime, tuning_a_hz: float) -> TakeOffset:
        """Return how far the day moved a note at a moment, in cents from a tuning A."""
        at_min = _minutes(self.notes[0].played_at, moment)
        found = self.state.correct(at_min, _pull_effect(self.instrument, target, self.tuning_a_hz))
        offset = TakeOffset(found.offset_cents, found.sigma_cents)
        return _at_tuning(offset, self.tuning_a_hz, tuning_a_hz)

    def shift_at(self, tuning_a_hz: float) -> TakeOffset:
        """Return how far the day moved all notes alike, in cents from a tuning A."""
        found = self.state.mean_shift
        offset = TakeOffset(found.offset_cents, found.sigma_cents)
        return _at_tuning(offset, self.tuning_a_hz, tuning_a_hz)

    def has_take(self, take: Take) -> bool:
        """Whether a take is one of the tuning notes."""
        return any(note.take_id == take.id for note in self.notes)

    def is_cold(self, take: Take) -> bool:
        """Whether a take was played before the first tuning note, so on a cold instrument."""
        return take.recorded_at < self.notes[0].played_at and not self.has_take(take)


@dataclass(frozen=True, slots=True)
class TakeDay:
    """A take's practice, with its offset against the tuning notes of that practice, if it has any.

    A take that is a tuning note itself has no such offset: it would be 0 or nearly so.
    `correction` is how far the day moved the note, at the take's own tuning A. A cold take was
    played before the first tuning note of its practice; it counts as any other.
    """

    practice_id: int
    reference: Reference | None
    relative: TakeOffset | None
    is_reference: bool = False
    is_cold: bool = False
    correction: TakeOffset | None = None


@dataclass(frozen=True, slots=True)
class Days:
    """The takes of a fingering by their practices: what they say with the day taken out."""

    by_take: Mapping[int, TakeDay]
    pooled: PooledOffset | None
    missing_count: int


def find_references(session: Session, practice_ids: Collection[int]) -> dict[int, Reference]:
    """Return what the tuning notes of practices say; those whose take lies in the bin say nothing.

    Of the same note played again within minutes the newest counts, and none that was left out.
    """
    rows = _load_notes(session, practice_ids, is_left_out=False)
    found = {practice_id: _infer(notes) for practice_id, notes in rows.items()}
    return {key: reference for key, reference in found.items() if reference is not None}


def find_left_out(session: Session, practice_id: int) -> tuple[ReferenceNote, ...]:
    """Return the tuning notes of a practice that the player left out, oldest first, each once."""
    rows = _load_notes(session, [practice_id], is_left_out=True).get(practice_id, [])
    # measuring a recording again adds a row
    newest = {row.clip_name or row.take_id: row for row in rows}
    notes = [note for row in newest.values() if (note := read_note(row)) is not None]
    return tuple(sorted(notes, key=lambda note: (note.played_at, note.note_id)))


def read_note(row: TuningNote) -> ReferenceNote | None:
    """Return what a tuning note says; its take and its practice with instrument must be loaded."""
    take = row.take
    if take is not None:
        if take.deleted_at or take.fingering is None:
            return None
        offset = take_offset(take, SoundingPitch(take.fingering.target_cents))
        tuning_a_hz = take.tuning_a_hz
    elif row.f0_hz is not None and row.f0_uncertainty_cents is not None:
        offset_cents = recorded_offset_cents(row.practice, row.written, row.f0_hz)
        offset = TakeOffset(offset_cents, row.f0_uncertainty_cents)
        tuning_a_hz = row.practice.tuning_a_hz
    else:
        return None
    if offset is None:
        return None
    return ReferenceNote(row.id, row.written, offset, tuning_a_hz, row.played_at, row.take_id)


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
        take.id: find_day(take, take.practice_id, references.get(take.practice_id), target)
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


def find_day(
    take: Take, practice_id: int, reference: Reference | None, target: SoundingPitch
) -> TakeDay:
    """Compare a take with the tuning notes of its practice."""
    if reference is None:
        return TakeDay(practice_id, None, None)
    if reference.has_take(take):
        return TakeDay(practice_id, reference, None, is_reference=True)
    offset = take_offset(take, target)
    correction = reference.correct(target, take.recorded_at, take.tuning_a_hz)
    return TakeDay(
        practice_id,
        reference,
        None if offset is None else relative_offset(offset, correction),
        is_cold=reference.is_cold(take),
        correction=correction,
    )


def learn_warming(
    practices: Iterable[Practice], references: Mapping[int, Reference]
) -> RoomWarming:
    """Learn how far a warmer room raises an instrument from practices of it.

    Args:
        practices: of one instrument; those without a temperature or a tuning note say nothing.
        references: by the number of the practice.
    """
    days = []
    for practice in practices:
        reference = references.get(practice.id)
        if reference is not None and practice.air_temperature_c is not None:
            shift = reference.shift_at(_STANDARD_A_HZ)
            days.append(
                WarmDay(practice.air_temperature_c, shift.offset_cents, shift.uncertainty_cents)
            )
    return fit_warming(days)


def find_room_warming(session: Session, instrument_id: int) -> RoomWarming:
    """Learn from all practices of an instrument how far a warmer room raises it."""
    query = select(Practice).where(
        Practice.instrument_id == instrument_id, Practice.air_temperature_c.is_not(None)
    )
    practices = session.scalars(query).all()
    return learn_warming(practices, find_references(session, [each.id for each in practices]))


def _load_notes(
    session: Session, practice_ids: Collection[int], *, is_left_out: bool
) -> dict[int, list[TuningNote]]:
    """Return tuning notes by their practice, in the order in which they were kept."""
    found: defaultdict[int, list[TuningNote]] = defaultdict(list)
    if not practice_ids:
        return found
    query = (
        select(TuningNote)
        .where(TuningNote.practice_id.in_(practice_ids), TuningNote.is_left_out.is_(is_left_out))
        .options(
            joinedload(TuningNote.practice).joinedload(Practice.instrument),
            joinedload(TuningNote.take).selectinload(Take.measurements),
            joinedload(TuningNote.take).joinedload(Take.fingering),
        )
        .order_by(TuningNote.id)
    )
    for row in session.scalars(query):
        found[row.practice_id].append(row)
    return found


def _infer(rows: Sequence[TuningNote]) -> Reference | None:
    """Infer the state of a day from the rows of its tuning notes, in the order of keeping."""
    notes: list[ReferenceNote] = []
    for row in reversed(rows):
        note = read_note(row)
        if note is not None and not any(_replaces(newer, note) for newer in notes):
            notes.append(note)
    if not notes:
        return None
    notes.sort(key=lambda note: (note.played_at, note.note_id))
    practice = rows[0].practice
    instrument, tuning_a_hz = practice.instrument, practice.tuning_a_hz
    played = []
    for note in notes:
        offset = note.at(tuning_a_hz)
        target = instrument.transposition.to_sounding(note.written)
        at_min = _minutes(notes[0].played_at, note.played_at)
        effect = _pull_effect(instrument, target, tuning_a_hz)
        played.append(PlayedNote(at_min, offset.offset_cents, offset.uncertainty_cents, effect))
    state = find_day_state(played, stated_pull_mm=practice.barrel_pull_mm)
    return Reference(tuple(notes), state, instrument, tuning_a_hz)


def _replaces(newer: ReferenceNote, note: ReferenceNote) -> bool:
    apart = abs(newer.played_at - note.played_at)
    return newer.written == note.written and apart <= timedelta(minutes=OCCASION_MIN)


def _pull_effect(instrument: Instrument, target: SoundingPitch, tuning_a_hz: float) -> float:
    """Return what 1 mm of barrel pull does to a note of an instrument, in cents."""
    written = instrument.transposition.to_written(target)
    register = register_of(instrument.kind.in_treble_notation(written))
    return find_pull_effect(target.hz(Tuning(tuning_a_hz)), register)


def _at_tuning(offset: TakeOffset, from_hz: float, to_hz: float) -> TakeOffset:
    if from_hz == to_hz:
        return offset
    higher_cents = 1200 * math.log2(to_hz / from_hz)
    return TakeOffset(offset.offset_cents - higher_cents, offset.uncertainty_cents)


def _minutes(start: datetime, moment: datetime) -> float:
    return (moment - start).total_seconds() / _SECONDS_A_MINUTE
