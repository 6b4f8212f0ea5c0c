"""The work on a long recording that takes seconds: finding its notes, and cutting them into takes.

Both go on after a restart. Finding writes all its notes in one transaction. Cutting commits take by
take; a note whose take was kept just before the end is recognised by the hash of its cut, since the
same samples give the same file. A claim keeps two servers on one database from doing the same
(`claims`); it is renewed with every step, and nothing is kept once it is lost.
"""

import logging
import struct
import threading
from collections.abc import Callable
from contextlib import suppress

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import delete, select

from analysis.errors import AnalysisError
from analysis.recording import (
    MeasuredSpan,
    Recording,
    decode_clip,
    measure_spans,
    split_takes,
)
from webapp.notebook.store.claims import release_claim, renew_claim, take_claim
from webapp.notebook.store.errors import DuplicateClip, JobTaken, NotebookError
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.postgresql import is_out_of_reach
from webapp.notebook.store.rows import LongRecording, RecordingState, Segment
from webapp.notebook.takes.takes import Cut, TakeNote, attach_cut

MARGIN_S = 0.25
SPLITTING_SHARE = 0.5
STEP_SHOWN = 0.01
Report = Callable[[float], None]
_LOG = logging.getLogger("quartervent")
_UNFORESEEN = (
    "The notebook ran into something unforeseen with this recording; the details are in its log. "
    "The recording itself is kept. Try again."
)


class _Stopped(Exception):
    """The program ends; the rows say what is left to do."""


def find_unfinished(notebook: Notebook) -> tuple[int, ...]:
    """Return the long recordings on which something is left to do, oldest first."""
    query = (
        select(LongRecording.id)
        .where(
            LongRecording.state.in_((RecordingState.SPLITTING.value, RecordingState.KEEPING.value)),
            LongRecording.deleted_at.is_(None),
        )
        .order_by(LongRecording.id)
    )
    with notebook.database.reading() as session:
        return tuple(session.scalars(query))


def work_on(notebook: Notebook, recording_id: int, *, stop: threading.Event) -> bool:
    """Do what is left to do on a recording; what goes wrong is kept on its row in words.

    Returns:
        Whether it could be taken on: not where another server is at work on it.

    Raises:
        DBAPIError: the database server is out of reach; the rows say what is left to do.
    """
    claim = claim_of(recording_id)
    if not take_claim(notebook, claim):
        return False
    try:
        _work_on(notebook, recording_id, stop)
    finally:
        release_claim(notebook, claim)
    return True


def claim_of(recording_id: int) -> str:
    """Return the name of the claim on a long recording."""
    return f"long recording {recording_id}"


def _work_on(notebook: Notebook, recording_id: int, stop: threading.Event) -> None:
    with notebook.database.reading() as session:
        recording = session.get_one(LongRecording, recording_id)
    if not recording.is_at_work:
        return  # another server did it meanwhile
    try:
        sound = decode_clip(notebook.clips.find(recording.clip_name))
        if recording.state == RecordingState.KEEPING:
            _keep_takes(notebook, recording, sound, stop)
        else:
            _split(notebook, recording_id, sound, stop)
    except (_Stopped, JobTaken):
        return
    except (AnalysisError, NotebookError, OSError) as error:
        _note_failure(notebook, recording_id, str(error))
    except Exception as error:
        if is_out_of_reach(error):
            raise
        _LOG.exception("work on long recording %d failed", recording_id)
        _note_failure(notebook, recording_id, _UNFORESEEN)


def cut_wav(samples: NDArray[np.float32], sample_rate_hz: float) -> bytes:
    """Write samples as a float wav: what was decoded, bit for bit, and the same bytes every time.

    Source: RFC 2361 (format tag 3 is IEEE float, which asks for a fact chunk), RIFF WAVE.
    """
    payload = samples.astype("<f4").tobytes()
    rate = round(sample_rate_hz)
    chunks = (
        b"fmt " + struct.pack("<IHHIIHHH", 18, 3, 1, rate, 4 * rate, 4, 32, 0),
        b"fact" + struct.pack("<II", 4, len(samples)),
        b"data" + struct.pack("<I", len(payload)) + payload,
    )
    body = b"WAVE" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def find_notes(sound: Recording, report: Report) -> list[Segment]:
    """Find and measure the notes of a recording; `report` hears the share done."""
    samples, rate_hz = sound.samples, sound.sample_rate_hz
    spans = split_takes(samples, rate_hz, progress=lambda share: report(SPLITTING_SHARE * share))
    measured = measure_spans(
        samples,
        rate_hz,
        spans,
        progress=lambda share: report(SPLITTING_SHARE + (1 - SPLITTING_SHARE) * share),
    )
    return [_segment_of(position, each) for position, each in enumerate(measured, start=1)]


def _segment_of(position: int, found: MeasuredSpan) -> Segment:
    span, measurement = found.span, found.measurement
    alternation = measurement.alternation
    steady_from_s, steady_to_s = span.steady_from_s, span.steady_to_s
    if measurement.steady_from_s is not None and measurement.steady_to_s is not None:
        steady_from_s = span.from_s + measurement.steady_from_s
        steady_to_s = span.from_s + measurement.steady_to_s
    return Segment(
        position=position,
        from_s=span.from_s,
        to_s=span.to_s,
        steady_from_s=steady_from_s,
        steady_to_s=steady_to_s,
        verdict=measurement.verdict.value,
        f0_hz=measurement.f0_hz,
        f0_uncertainty_cents=measurement.f0_uncertainty_cents,
        low_hz=alternation.low_hz if alternation else None,
        high_hz=alternation.high_hz if alternation else None,
        rate_hz=alternation.rate_hz if alternation else measurement.flutter_hz,
    )


def _split(notebook: Notebook, recording_id: int, sound: Recording, stop: threading.Event) -> None:
    report = _reporter(notebook, recording_id, stop)
    notes = find_notes(sound, report)
    with notebook.database.writing() as session:
        renew_claim(notebook, session, claim_of(recording_id))
        recording = session.get_one(LongRecording, recording_id)
        session.execute(delete(Segment).where(Segment.recording_id == recording_id))
        session.add_all(notes)
        for note in notes:
            note.recording_id = recording_id
        recording.duration_s = sound.duration_s
        recording.state, recording.done_share = RecordingState.READY.value, 1.0


def _keep_takes(
    notebook: Notebook, recording: LongRecording, sound: Recording, stop: threading.Event
) -> None:
    report = _reporter(notebook, recording.id, stop)
    query = select(Segment).where(
        Segment.recording_id == recording.id,
        Segment.take_id.is_(None),
        Segment.fingering_id.is_not(None) | Segment.is_unsorted,
        Segment.is_discarded.is_(False),
    )
    with notebook.database.reading() as session:
        segments = list(session.scalars(query.order_by(Segment.position)))
    for place, segment in enumerate(segments):
        report(place / len(segments))
        take_id, problem = _keep_take(notebook, recording, sound, segment)
        with notebook.database.writing() as session:
            renew_claim(notebook, session, claim_of(recording.id))
            kept = session.get_one(Segment, segment.id)
            kept.take_id, kept.problem = take_id, problem
            if take_id is None:
                kept.fingering_id, kept.is_unsorted = None, False
    with notebook.database.writing() as session:
        renew_claim(notebook, session, claim_of(recording.id))
        done = session.get_one(LongRecording, recording.id)
        done.state, done.done_share = RecordingState.READY.value, 1.0


def _keep_take(
    notebook: Notebook, recording: LongRecording, sound: Recording, segment: Segment
) -> tuple[int | None, str]:
    """Cut one note and attach it; return its take, or why there is none."""
    samples = _cut(sound, segment)
    cut = Cut(
        wav=cut_wav(samples, sound.sample_rate_hz),
        samples=samples,
        sample_rate_hz=sound.sample_rate_hz,
        practice_id=recording.practice_id,
        instrument_id=recording.instrument_id,
    )
    note = TakeNote(
        original_name=f"{recording.original_name or 'long recording'}, note {segment.position}",
        recorded_at=recording.recorded_at,
        dynamic=recording.dynamic,
        air_temperature_c=recording.air_temperature_c,
        tuning_a_hz=recording.tuning_a_hz,
    )
    try:
        return attach_cut(notebook, segment.fingering_id, cut, note), ""
    except DuplicateClip as error:
        return error.take_id, ""
    except (AnalysisError, NotebookError) as error:
        return None, str(error)


def _cut(sound: Recording, segment: Segment) -> NDArray[np.float32]:
    """Return the steady part with a margin, within the note that was found."""
    from_s = max(segment.from_s, segment.steady_from_s - MARGIN_S)
    to_s = min(segment.to_s, segment.steady_to_s + MARGIN_S)
    rate = sound.sample_rate_hz
    return sound.samples[max(0, round(from_s * rate)) : round(to_s * rate)]


def _reporter(notebook: Notebook, recording_id: int, stop: threading.Event) -> Report:
    """Return what notes the progress, in steps worth showing, and ends the work when asked to."""
    shown = -STEP_SHOWN

    def report(share: float) -> None:
        nonlocal shown
        if stop.is_set():
            raise _Stopped
        if share - shown < STEP_SHOWN:
            return
        shown = share
        with notebook.database.writing() as session:
            renew_claim(notebook, session, claim_of(recording_id))
            session.get_one(LongRecording, recording_id).done_share = min(1.0, max(0.0, share))

    return report


def _note_failure(notebook: Notebook, recording_id: int, problem: str) -> None:
    with notebook.database.writing() as session, suppress(JobTaken):
        renew_claim(notebook, session, claim_of(recording_id))
        recording = session.get_one(LongRecording, recording_id)
        is_split = recording.state == RecordingState.KEEPING
        recording.state = (RecordingState.READY if is_split else RecordingState.FAILED).value
        recording.problem = problem
