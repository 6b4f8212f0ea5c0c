"""Takes: attach a recording to a fingering, open one, hand out its clip.

The way of a take: bytes -> staged clip (hash, flushed) -> format judged by content -> decoded in a
child process -> `measure_take` -> clip kept -> rows committed -> evidence pooled. Nothing flows
back.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session, selectinload

from analysis.errors import AnalysisError
from analysis.pitch import SoundingPitch, Tuning, WrittenPitch
from analysis.recording import (
    OTHER_NOTES,
    ClipFormat,
    TakeMeasurement,
    TakeStanding,
    measure_take,
    start_spare,
    write_measurement,
)
from webapp.notebook.store.clock import day_of, now_utc
from webapp.notebook.store.errors import DuplicateClip, FieldRefused, NotebookError
from webapp.notebook.store.fetching import fetch, fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_practice_at
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take
from webapp.notebook.takes.air_temperature import check_temperature
from webapp.notebook.takes.evidence import refresh_evidence
from webapp.notebook.takes.incoming import measure_staged
from webapp.notebook.takes.likeness import find_written, offer_fingerings

DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")
NAME_CHARACTERS = 255
_ALTERED = (
    "The sound file of this take is not the one that was measured: it was altered since. Its "
    "measured numbers are kept. Put the file back from a backup."
)


@dataclass(frozen=True, slots=True)
class TakeNote:
    """What the player says about a take; everything may be left out.

    What is left out comes from the practice that the take belongs to, if there is one.
    """

    original_name: str = ""
    recorded_at: datetime | None = None
    dynamic: str | None = None
    air_temperature_c: float | None = None
    tuning_a_hz: float | None = None
    is_watched: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """One note cut from a long recording: as it will be kept, and as it is measured."""

    wav: bytes
    samples: NDArray[np.float32]
    sample_rate_hz: float
    practice_id: int | None
    instrument_id: int


@dataclass(frozen=True, slots=True)
class TakePage:
    """A take with its instrument, and its fingering if it is sorted.

    `written` is what it is compared with: the note of its fingering, or the one that was meant, or
    else the quarter tone that it is nearest to; None where an unsorted take has no pitch.
    """

    take: Take
    instrument: Instrument
    fingering: Fingering | None
    written: WrittenPitch | None
    # the fingerings that a take that does not count may have been
    offered: tuple[Fingering, ...] = ()

    @property
    def target(self) -> SoundingPitch | None:
        """Where the note it is compared with sounds."""
        if self.written is None:
            return None
        return self.instrument.transposition.to_sounding(self.written)

    @property
    def offset_cents(self) -> float | None:
        """How far it lies from that note."""
        if self.target is None or self.take.sounding is None:
            return None
        return self.target.interval_to(self.take.sounding)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a take goes: to a fingering, or to an instrument alone."""

    instrument: Instrument
    fingering: Fingering | None = None
    meant: WrittenPitch | None = None

    @property
    def target(self) -> SoundingPitch | None:
        """Where the note that is expected sounds."""
        if self.fingering is not None:
            return SoundingPitch(self.fingering.target_cents)
        return self.instrument.transposition.to_sounding(self.meant) if self.meant else None


def attach_take(
    notebook: Notebook,
    fingering_id: int,
    upload: IO[bytes],
    note: TakeNote,
    *,
    longest_s: float | None = None,
) -> int:
    """Keep a recording, measure it, and pool it into the evidence of its fingering.

    A take in which nothing can be measured (silence, noise, ...) is kept with its verdict and does
    not count as evidence.

    Returns:
        The number of the take.

    Raises:
        NotInNotebook: no such fingering.
        ClipRefused: the file is no recording of an accepted format, or cannot be decoded.
        NoteTooLong: it lasts longer than `longest_s`; nothing of it was kept.
        DuplicateClip: this very recording is attached to this fingering already.
        FieldRefused: day, dynamic, temperature or tuning A cannot be kept.
    """
    place = _find_place(notebook, fingering_id)
    return _attach(notebook, place, upload, note, longest_s=longest_s)


def attach_cut(notebook: Notebook, fingering_id: int | None, cut: Cut, note: TakeNote) -> int:
    """Keep a note cut from a long recording as a take; the same way without decoding it again.

    Without a fingering it is an unsorted take.

    Raises:
        NotInNotebook: no such fingering, or no such instrument.
        DuplicateClip: this very cut is attached to this fingering already, or kept unsorted.
    """
    if fingering_id is not None:
        place = _find_place(notebook, fingering_id)
    else:
        place = _find_unsorted_place(notebook, cut.instrument_id)
    return _attach(notebook, place, BytesIO(cut.wav), note, cut)


def attach_unsorted(
    notebook: Notebook,
    instrument_id: int,
    upload: IO[bytes],
    note: TakeNote,
    meant: WrittenPitch | None = None,
) -> int:
    """Keep and measure a recording that belongs to no fingering yet.

    Args:
        notebook: the notebook.
        instrument_id: what it was played on.
        upload: the recording.
        note: what the player says about it.
        meant: the note that was to sound, if any was.

    Raises:
        NotInNotebook: no such instrument.
        ClipRefused, DuplicateClip, FieldRefused: as for `attach_take`.
    """
    place = _find_unsorted_place(notebook, instrument_id, meant)
    return _attach(notebook, place, upload, note)


def _find_place(notebook: Notebook, fingering_id: int) -> _Place:
    with notebook.database.reading() as session:
        fingering = fetch_fingering(session, fingering_id)
        return _Place(fingering.instrument, fingering)


def _find_unsorted_place(
    notebook: Notebook, instrument_id: int, meant: WrittenPitch | None = None
) -> _Place:
    with notebook.database.reading() as session:
        return _Place(fetch(session, Instrument, instrument_id), None, meant)


def _attach(
    notebook: Notebook,
    place: _Place,
    upload: IO[bytes],
    note: TakeNote,
    cut: Cut | None = None,
    longest_s: float | None = None,
) -> int:
    check_note(note)
    recorded_at = note.recorded_at or now_utc()
    with notebook.database.reading() as session:
        practice_id = cut.practice_id if cut else None
        practice = find_practice_at(session, place.instrument.id, recorded_at, practice_id)
    tuning_a_hz = note.tuning_a_hz or (practice or place.instrument).tuning_a_hz
    air_temperature_c = note.air_temperature_c
    if air_temperature_c is None and practice is not None:
        air_temperature_c = practice.air_temperature_c
    with notebook.clips.staged(upload) as staged:
        with notebook.database.reading() as session:
            _refuse_duplicate(session, place, staged.sha256)
        target_hz = place.target.hz(Tuning(tuning_a_hz)) if place.target is not None else None
        clip_format, measurement = (
            _measure_cut(cut, target_hz) if cut else measure_staged(staged, target_hz, longest_s)
        )
        take = Take(
            instrument_id=place.instrument.id,
            fingering_id=place.fingering.id if place.fingering is not None else None,
            meant_text=place.meant.canonical if place.meant is not None else None,
            clip_name=notebook.clips.keep(staged, clip_format),
            clip_format=clip_format,
            sha256=staged.sha256,
            byte_count=staged.byte_count,
            original_name=note.original_name[-NAME_CHARACTERS:],
            recorded_at=recorded_at,
            dynamic=note.dynamic,
            air_temperature_c=air_temperature_c,
            tuning_a_hz=tuning_a_hz,
            is_watched=note.is_watched,
            practice_id=practice.id if practice else None,
            measurements=[row_of(measurement)],
        )
    try:
        return _keep_rows(notebook, take, place)
    except NotebookError:
        # Raised on purpose before anything was committed; after other errors the clip stays, since
        # the commit may have happened.
        notebook.clips.remove([take.clip_name])
        raise


def expect_take() -> None:
    """Get ready for a take that will come soon, so that it is answered sooner."""
    start_spare()


def open_take(notebook: Notebook, take_id: int) -> TakePage:
    """Return a take with its measurements and its fingering.

    Raises:
        NotInNotebook: there is no such take, or it is in the bin.
    """
    with notebook.database.reading() as session:
        take = fetch(session, Take, take_id, selectinload(Take.measurements))
        if take.fingering_id is not None:
            fingering = fetch_fingering(session, take.fingering_id)
            instrument = fingering.instrument
            offered: tuple[Fingering, ...] = ()
            if TakeStanding(take.standing) in OTHER_NOTES:
                offered = offer_fingerings(session, instrument, [take])[take.id]
            return TakePage(take, instrument, fingering, fingering.written, offered)
        instrument = fetch(session, Instrument, take.instrument_id)
        return TakePage(take, instrument, None, find_written(take, instrument))


def find_clip(notebook: Notebook, take_id: int) -> tuple[Take, Path]:
    """Return a take and the path of its clip, takes in the bin included.

    Raises:
        NotInNotebook: there is no such take.
        ClipMissing: its file is gone.
    """
    with notebook.database.reading() as session:
        take = fetch(session, Take, take_id, with_binned=True)
    return take, notebook.clips.find(take.clip_name)


def examine_clip(notebook: Notebook, take: Take) -> str:
    """Say in a sentence what is wrong with the file of a take; empty where nothing is."""
    try:
        is_as_it_was = notebook.clips.hash_as_written(take.clip_name) == take.sha256
    except (NotebookError, OSError) as error:
        return str(error)
    return "" if is_as_it_was else _ALTERED


def moment_of_day(day: date | None) -> datetime | None:
    """Return the moment that stands for a day that was typed: its noon here, or now if it is today.

    A take of today belongs to what is going on, such as the practice that is open.
    """
    if day is None:
        return None
    now = now_utc()
    return now if day == day_of(now) else datetime.combine(day, time(12)).astimezone(UTC)


def check_note(note: TakeNote) -> None:
    """Refuse what cannot be said about a take.

    Raises:
        FieldRefused: day, dynamic, temperature or tuning A cannot be kept.
    """
    if note.dynamic is not None and note.dynamic not in DYNAMICS:
        raise FieldRefused("dynamic", f"The dynamic is one of {', '.join(DYNAMICS)}, or left open.")
    if note.recorded_at is not None and note.recorded_at > now_utc() + timedelta(days=1):
        raise FieldRefused(
            "recorded_at",
            "This day lies in the future. Give the day of the recording, or leave it open for now.",
        )
    check_temperature(note.air_temperature_c)
    if note.tuning_a_hz is not None:
        try:
            Tuning(note.tuning_a_hz)
        except AnalysisError as error:
            raise FieldRefused("tuning_a_hz", str(error)) from error


def refuse_twin(session: Session, take: Take) -> None:
    """Refuse a take whose clip another one has: of its fingering, or unsorted as it is.

    Raises:
        DuplicateClip: there is one outside the bin.
    """
    is_beside = (
        Take.fingering_id == take.fingering_id
        if take.fingering_id is not None
        else (Take.instrument_id == take.instrument_id) & Take.fingering_id.is_(None)
    )
    _refuse_clip(session, is_beside & (Take.id != take.id), take.sha256)


def _refuse_duplicate(session: Session, place: _Place, sha256: str) -> None:
    is_there = (
        Take.fingering_id == place.fingering.id
        if place.fingering is not None
        else Take.instrument_id == place.instrument.id
    )
    _refuse_clip(session, is_there, sha256)


def _refuse_clip(session: Session, where: ColumnElement[bool], sha256: str) -> None:
    query = select(Take.id).where(where, Take.sha256 == sha256, Take.deleted_at.is_(None))
    found = session.scalars(query.limit(1)).first()
    if found is not None:
        raise DuplicateClip(found)


def _measure_cut(cut: Cut, target_hz: float | None) -> tuple[str, TakeMeasurement]:
    measured = measure_take(cut.samples, cut.sample_rate_hz, expected_f0_hz=target_hz)
    return ClipFormat.WAV.value, measured


def _keep_rows(notebook: Notebook, take: Take, place: _Place) -> int:
    with notebook.database.writing() as session:
        fingering = None
        if take.fingering_id is not None:
            fingering = fetch_fingering(session, take.fingering_id)
        else:
            fetch(session, Instrument, take.instrument_id)
        # Once more, now that nobody else can write: the same file may have been sent twice at once.
        _refuse_duplicate(session, place, take.sha256)
        session.add(take)
        session.flush()
        if fingering is not None:
            refresh_evidence(session, fingering)
        return take.id


def row_of(measurement: TakeMeasurement) -> Measurement:
    """Return the row that keeps a measurement."""
    return Measurement(
        method_version=measurement.method_version,
        verdict=measurement.verdict.value,
        f0_hz=measurement.f0_hz,
        f0_uncertainty_cents=measurement.f0_uncertainty_cents,
        spread_cents=measurement.spread_cents,
        drift_cents_per_s=measurement.drift_cents_per_s,
        centroid_hz=measurement.centroid_hz,
        brightness_partials=measurement.brightness_partials,
        duration_s=measurement.duration_s,
        is_spoilt=measurement.is_spoilt,
        details=write_measurement(measurement),
    )
