"""Long recordings: keep one, look at the notes found in it, say which fingering each one is.

Splitting and cutting take seconds and are done in the background (`splitting`); here
stands what the player does.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.pitch import SoundingPitch
from webapp.notebook.recordings.note_proposals import (
    Wish,
    alternating_of,
    propose,
    sounding_of,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import (
    DuplicateRecording,
    NotebookError,
    NotInNotebook,
    Refused,
)
from webapp.notebook.store.fetching import fetch, read_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_practice_at
from webapp.notebook.store.rows import Fingering, Instrument, LongRecording, RecordingState, Segment
from webapp.notebook.takes.incoming import sniff_staged
from webapp.notebook.takes.takes import NAME_CHARACTERS, TakeNote, check_note

FINGERINGS_OFFERED = 200
NEAR_CENTS = 150.0
NEAR_OFFERED = 12
DISCARD = "discard"
UNSORTED = "unsorted"
LEAVE = ""


@dataclass(frozen=True, slots=True)
class Found:
    """A note of a recording with what may be chosen for it.

    `alternating` are the two notes of a trill or a tremolo, the lower one first.
    """

    segment: Segment
    sounding: SoundingPitch | None
    alternating: tuple[SoundingPitch, SoundingPitch] | None
    proposed_id: int | None
    near: tuple[Fingering, ...]

    @property
    def is_open(self) -> bool:
        """Whether nothing was decided about it yet."""
        return self.segment.take_id is None and not self.segment.is_discarded


@dataclass(frozen=True, slots=True)
class RecordingPage:
    """A long recording with the notes found in it and the fingerings to choose from."""

    recording: LongRecording
    instrument: Instrument
    found: tuple[Found, ...]
    fingerings: tuple[Fingering, ...]
    has_more_fingerings: bool

    @property
    def open_count(self) -> int:
        """How many notes nothing was decided about yet."""
        return sum(each.is_open for each in self.found)

    @property
    def proposed_count(self) -> int:
        """For how many of those something is proposed."""
        return sum(each.proposed_id is not None for each in self.found)


def add_recording(notebook: Notebook, instrument_id: int, upload: IO[bytes], note: TakeNote) -> int:
    """Keep a long recording; it is split in the background.

    Raises:
        NotInNotebook: no such instrument.
        ClipRefused: the file is no recording of an accepted format.
        DuplicateRecording: this very recording is there already.
        FieldRefused: day, dynamic, temperature or tuning A cannot be kept.
    """
    check_note(note)
    recorded_at = note.recorded_at or now_utc()
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        practice = find_practice_at(session, instrument_id, recorded_at, None)
    air_temperature_c = note.air_temperature_c
    if air_temperature_c is None and practice is not None:
        air_temperature_c = practice.air_temperature_c
    with notebook.clips.staged(upload) as staged:
        clip_format = sniff_staged(staged)
        with notebook.database.reading() as session:
            _refuse_clip(session, instrument_id, staged.sha256)
        row = LongRecording(
            instrument_id=instrument_id,
            practice_id=practice.id if practice else None,
            clip_name=notebook.clips.keep(staged, clip_format),
            clip_format=clip_format,
            sha256=staged.sha256,
            byte_count=staged.byte_count,
            original_name=note.original_name[-NAME_CHARACTERS:],
            recorded_at=recorded_at,
            dynamic=note.dynamic,
            air_temperature_c=air_temperature_c,
            tuning_a_hz=note.tuning_a_hz or (practice or instrument).tuning_a_hz,
        )
    try:
        return _keep_row(notebook, row)
    except NotebookError:  # before anything was committed
        notebook.clips.remove([row.clip_name])
        raise


def list_recordings(notebook: Notebook, instrument_id: int) -> tuple[LongRecording, ...]:
    """Return the long recordings of an instrument, newest first, with their notes."""
    query = (
        select(LongRecording)
        .where(LongRecording.instrument_id == instrument_id, LongRecording.deleted_at.is_(None))
        .options(selectinload(LongRecording.segments))
        .order_by(LongRecording.recorded_at.desc(), LongRecording.id.desc())
    )
    with notebook.database.reading() as session:
        return tuple(session.scalars(query))


def find_recording(notebook: Notebook, recording_id: int) -> LongRecording:
    """Return a long recording without its notes.

    Raises:
        NotInNotebook: there is none, or it or its instrument lies in the bin.
    """
    with notebook.database.reading() as session:
        return _fetch(session, recording_id)


def open_recording(notebook: Notebook, recording_id: int, wish: Wish) -> RecordingPage:
    """Return a long recording with its notes and what is proposed for them.

    Raises:
        NotInNotebook: there is none, or it or its instrument lies in the bin.
    """
    with notebook.database.reading() as session:
        recording = _fetch(session, recording_id)
        segments = list(
            session.scalars(
                select(Segment)
                .where(Segment.recording_id == recording_id)
                .order_by(Segment.position)
            )
        )
        fingerings = list(
            session.scalars(
                select(Fingering)
                .where(
                    Fingering.instrument_id == recording.instrument_id,
                    Fingering.deleted_at.is_(None),
                )
                .order_by(Fingering.sounding_cents, Fingering.id)
                .limit(FINGERINGS_OFFERED + 1)
            )
        )
        near = {each.id: _near(session, recording, each, fingerings) for each in segments}
    proposed = propose(recording, segments, fingerings[:FINGERINGS_OFFERED], near=near, wish=wish)
    return RecordingPage(
        recording=recording,
        instrument=recording.instrument,
        found=_find(recording, segments, proposed, near),
        fingerings=tuple(fingerings[:FINGERINGS_OFFERED]),
        has_more_fingerings=len(fingerings) > FINGERINGS_OFFERED,
    )


def find_recording_clip(notebook: Notebook, recording_id: int) -> tuple[LongRecording, Path]:
    """Return a long recording and the path of its file.

    Raises:
        NotInNotebook: there is none.
        ClipMissing: its file is gone.
    """
    recording = find_recording(notebook, recording_id)
    return recording, notebook.clips.find(recording.clip_name)


def assign_notes(notebook: Notebook, recording_id: int, choices: Mapping[int, str]) -> int:
    """Note which fingering each note is; the takes are then cut in the background.

    Args:
        notebook: where.
        recording_id: the recording.
        choices: by the number of the note: the number of a fingering, `UNSORTED`, `DISCARD`, or
            `LEAVE`. Notes that are takes already stay what they are.

    Returns:
        How many takes are going to be cut.

    Raises:
        NotInNotebook: no such recording.
        Refused: it is being worked on, or a choice is no fingering of this instrument.
    """
    with notebook.database.writing() as session:
        recording = _fetch(session, recording_id)
        if recording.state != RecordingState.READY:
            raise Refused("This recording is still being worked on. Wait until it is done.")
        segments = session.scalars(select(Segment).where(Segment.recording_id == recording_id))
        allowed = _fingerings_among(session, recording.instrument_id, choices.values())
        count = 0
        for segment in segments:
            if segment.take_id is not None or segment.id not in choices:
                continue
            count += _choose(segment, choices[segment.id], allowed)
        if count:
            recording.state, recording.done_share = RecordingState.KEEPING.value, 0.0
        return count


def try_again(notebook: Notebook, recording_id: int) -> None:
    """Let a recording that failed be split once more.

    Raises:
        NotInNotebook: no such recording.
    """
    with notebook.database.writing() as session:
        recording = _fetch(session, recording_id)
        if recording.state == RecordingState.FAILED:
            recording.state, recording.done_share = RecordingState.SPLITTING.value, 0.0
            recording.problem = ""


def _fetch(session: Session, recording_id: int) -> LongRecording:
    recording = fetch(session, LongRecording, recording_id, joinedload(LongRecording.instrument))
    if recording.instrument.deleted_at is not None:
        raise NotInNotebook(
            "The instrument of this recording lies in the bin. Open the bin to put it back."
        )
    return recording


def refuse_same_recording(session: Session, recording: LongRecording) -> None:
    """Refuse a long recording whose very file another one of its instrument has.

    Raises:
        DuplicateRecording: there is one outside the bin.
    """
    _refuse_clip(session, recording.instrument_id, recording.sha256, but=recording.id)


def _keep_row(notebook: Notebook, row: LongRecording) -> int:
    with notebook.database.writing() as session:
        # Once more, now that nobody else can write: the same file may have been sent twice at once.
        _refuse_clip(session, row.instrument_id, row.sha256)
        session.add(row)
        session.flush()
        return row.id


def _refuse_clip(
    session: Session, instrument_id: int, sha256: str, *, but: int | None = None
) -> None:
    query = select(LongRecording.id).where(
        LongRecording.instrument_id == instrument_id,
        LongRecording.sha256 == sha256,
        LongRecording.deleted_at.is_(None),
        LongRecording.id.is_distinct_from(but),
    )
    found = session.scalars(query.limit(1)).first()
    if found is not None:
        raise DuplicateRecording(found)


def _near(
    session: Session, recording: LongRecording, segment: Segment, listed: Sequence[Fingering]
) -> tuple[Fingering, ...]:
    """Return the fingerings near a note, nearest first: of the list, or asked for if it is cut."""
    sounding = sounding_of(recording, segment)
    if sounding is None:
        return ()
    low, high = sounding.cents - NEAR_CENTS, sounding.cents + NEAR_CENTS
    rows: Sequence[Fingering] = [row for row in listed if low <= row.sounding_cents <= high]
    if len(listed) > FINGERINGS_OFFERED:
        query = select(Fingering).where(
            Fingering.instrument_id == recording.instrument_id,
            Fingering.sounding_cents.between(low, high),
            Fingering.deleted_at.is_(None),
        )
        rows = session.scalars(query.limit(FINGERINGS_OFFERED)).all()
    nearest = sorted(rows, key=lambda row: abs(row.sounding_cents - sounding.cents))
    return tuple(nearest[:NEAR_OFFERED])


def _find(
    recording: LongRecording,
    segments: Sequence[Segment],
    proposed: Mapping[int, int],
    near: Mapping[int, tuple[Fingering, ...]],
) -> tuple[Found, ...]:
    return tuple(
        Found(
            segment=segment,
            sounding=sounding_of(recording, segment),
            alternating=alternating_of(recording, segment),
            proposed_id=proposed.get(segment.id),
            near=near[segment.id],
        )
        for segment in segments
    )


def _fingerings_among(
    session: Session, instrument_id: int, choices: Collection[str]
) -> frozenset[int]:
    wanted = {read_row_number(each) for each in choices}
    query = select(Fingering.id).where(
        Fingering.instrument_id == instrument_id,
        Fingering.id.in_(wanted),
        Fingering.deleted_at.is_(None),
    )
    return frozenset(session.scalars(query))


def _choose(segment: Segment, choice: str, allowed: frozenset[int]) -> int:
    segment.problem = ""
    segment.is_discarded = choice == DISCARD
    segment.is_unsorted = choice == UNSORTED
    segment.fingering_id = None
    if choice in (DISCARD, LEAVE):
        return 0
    if choice == UNSORTED:
        return 1
    if read_row_number(choice) not in allowed:
        raise Refused(
            "One of the fingerings chosen is not among those of this instrument. "
            "Load the page again and choose anew; nothing was changed."
        )
    segment.fingering_id = read_row_number(choice)
    return 1
