"""Loops that the player recorded: kept with their sound, measured, put in order by their pairs.

A loop is known by its two fingerings as keys with the notes they play, logged or not. It is no
evidence for where either of them sounds. Loops of others never come in: an archive holds none.
"""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from analysis.errors import AnalysisError
from analysis.keywork import check_playable, format_fingering, parse_fingering
from analysis.performance import (
    LOOP_METHOD_VERSION,
    TransitionTime,
    measure_loop,
)
from analysis.pitch import SoundingPitch, Tuning, WrittenPitch
from analysis.recording import DecoderFault, decode_clip
from webapp.notebook.loops.figures import LoopFigure, find_figure, load_loops
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.clips import StagedClip
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import (
    ClipRefused,
    ClipUnmeasured,
    DuplicateRecording,
    FieldRefused,
    NotebookError,
)
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_practice_at
from webapp.notebook.store.rows import Fingering, Instrument, KeptLoop, LoopPair
from webapp.notebook.takes.incoming import LONGEST_WAITED_FOR_S, sniff_staged

_LOG = logging.getLogger("quartervent")


@dataclass(frozen=True, slots=True)
class LoopNote:
    """What is known of a recording: when it was played, and at which tuning A."""

    recorded_at: datetime | None = None
    tuning_a_hz: float | None = None


@dataclass(frozen=True, slots=True)
class PairPage:
    """The loops of a pair, the newest first, and what they say together."""

    pair: LoopPair
    figure: LoopFigure
    loops: tuple[KeptLoop, ...]


@dataclass(frozen=True, slots=True)
class LoopsPage:
    """The pairs of an instrument that loops were recorded of, the last recorded first."""

    instrument: Instrument
    pairs: tuple[PairPage, ...]
    writing: Writing


def read_pair(instrument: Instrument, one: tuple[str, str], other: tuple[str, str]) -> LoopPair:
    """Read two notes in canonical text with their keys.

    Raises:
        FieldRefused: one of them cannot be read or played, or both are the same note.
    """
    ends = []
    for written_text, keys_text in (one, other):
        try:
            keys = parse_fingering(keys_text, instrument.layout)
            check_playable(keys)
            ends.append((WrittenPitch.from_canonical(written_text), format_fingering(keys)))
        except AnalysisError as error:
            raise FieldRefused("pair", str(error)) from error
    if ends[0][0].cents == ends[1][0].cents:
        raise FieldRefused("pair", "Both notes are the same. A loop goes between two notes.")
    return LoopPair.of(*ends)


def keep_loop(
    notebook: Notebook,
    instrument_id: int,
    ends: tuple[tuple[str, str], tuple[str, str]],
    upload: IO[bytes],
    note: LoopNote,
) -> tuple[int, bool]:
    """Measure a loop, keep it with its sound, and return its number, and whether it is new.

    `ends` are the two notes in canonical text, each with its keys. The same recording again is the
    loop that is there already.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the pair cannot be read.
        ClipRefused: the file is no recording, or holds no loop of these notes; the reason is said.
        ClipUnmeasured: this program failed; the file may be sound.
    """
    recorded_at = note.recorded_at or now_utc()
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        pair = read_pair(instrument, *ends)
        practice = find_practice_at(session, instrument_id, recorded_at, None)
        expected = _find_expected(session, instrument, pair)
    tuning = Tuning(note.tuning_a_hz or (practice or instrument).tuning_a_hz)
    with notebook.clips.staged(upload) as staged:
        with notebook.database.reading() as session:
            same = find_same(session, instrument_id, staged.sha256)
        if same is not None:
            return same, False
        clip_format = sniff_staged(staged)
        figures = _measure(staged, expected, tuning)
        row = KeptLoop(
            instrument_id=instrument_id,
            practice_id=practice.id if practice else None,
            **asdict(pair),
            clip_name=notebook.clips.keep(staged, clip_format),
            clip_format=clip_format,
            sha256=staged.sha256,
            byte_count=staged.byte_count,
            recorded_at=recorded_at,
            tuning_a_hz=tuning.a4_hz,
            **figures,
        )
    try:
        with notebook.database.writing() as session:
            fetch(session, Instrument, instrument_id)
            refuse_same_loop(session, row)
            session.add(row)
            session.flush()
            return row.id, True
    except NotebookError:
        notebook.clips.remove([row.clip_name])
        raise


def _find_expected(
    session: Session, instrument: Instrument, pair: LoopPair
) -> tuple[SoundingPitch, SoundingPitch]:
    """Return where both notes sound: as measured where that is known, else as written."""
    query = select(Fingering).where(
        Fingering.instrument_id == instrument.id,
        Fingering.deleted_at.is_(None),
        Fingering.keys_text.in_([pair.lower_keys_text, pair.upper_keys_text]),
    )
    measured = {
        (row.written.cents, row.keys_text): SoundingPitch(row.sounding_cents)
        for row in session.scalars(query)
        if row.is_measured
    }
    ends = ((pair.lower, pair.lower_keys_text), (pair.upper, pair.upper_keys_text))
    lower, upper = (
        measured.get((written.cents, keys)) or instrument.transposition.to_sounding(written)
        for written, keys in ends
    )
    return lower, upper


def _measure(
    staged: StagedClip, expected: tuple[SoundingPitch, SoundingPitch], tuning: Tuning
) -> Mapping[str, object]:
    lower_hz, upper_hz = (each.hz(tuning) for each in expected)
    try:
        sound = decode_clip(staged.path)
        if sound.duration_s > LONGEST_WAITED_FOR_S:
            raise ClipRefused(
                f"This recording lasts {sound.duration_s:.0f} s; a loop may last "
                f"{LONGEST_WAITED_FOR_S:.0f} s."
            )
        measured = measure_loop(
            sound.samples, sound.sample_rate_hz, lower_hz=lower_hz, upper_hz=upper_hz
        )
    except DecoderFault as error:
        _LOG.exception("a loop could not be measured")
        raise ClipUnmeasured(str(error)) from error
    except AnalysisError as error:
        raise ClipRefused(str(error)) from error
    return {
        "duration_s": sound.duration_s,
        "method_version": LOOP_METHOD_VERSION,
        "change_count": measured.change_count,
        "rate_hz": measured.rate_hz,
        "unevenness": measured.unevenness,
        **_list_time("up", measured.up),
        **_list_time("down", measured.down),
        "break_count": measured.break_count,
        "silent_count": measured.silent_count,
        "other_count": measured.other_count,
    }


def _list_time(name: str, time: TransitionTime | None) -> Mapping[str, float | None]:
    return {
        f"{name}_s": None if time is None else time.seconds,
        f"{name}_uncertainty_s": None if time is None else time.uncertainty_s,
    }


def find_same(session: Session, instrument_id: int, sha256: str) -> int | None:
    """Return the number of the loop of the same recording, the bin aside; None where none is."""
    query = select(KeptLoop.id).where(
        KeptLoop.instrument_id == instrument_id,
        KeptLoop.sha256 == sha256,
        KeptLoop.deleted_at.is_(None),
    )
    return session.scalars(query).first()


def refuse_same_loop(session: Session, row: KeptLoop) -> None:
    """Refuse a loop whose recording is kept as another one.

    Raises:
        DuplicateRecording: it is.
    """
    same = find_same(session, row.instrument_id, row.sha256)
    if same is not None and same != row.id:
        raise DuplicateRecording(same)


def open_loops(notebook: Notebook, instrument_id: int) -> LoopsPage:
    """Return the pairs of an instrument that loops were recorded of.

    Raises:
        NotInNotebook: no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        by_pair = load_loops(session, instrument_id)
        writing = find_preferences(session)
    pairs = tuple(PairPage(pair, find_figure(rows), rows) for pair, rows in by_pair.items())
    return LoopsPage(instrument, pairs, writing)


def open_loop(notebook: Notebook, loop_id: int) -> tuple[KeptLoop, LoopFigure]:
    """Return a loop, and what all loops of its pair say together.

    Raises:
        NotInNotebook: there is no such loop, or it is in the bin.
    """
    with notebook.database.reading() as session:
        row = fetch(session, KeptLoop, loop_id, joinedload(KeptLoop.instrument))
        return row, find_figure(_list_of(session, row))


def _list_of(session: Session, row: KeptLoop) -> Sequence[KeptLoop]:
    return load_loops(session, row.instrument_id).get(row.pair, (row,))


def find_pair_figure(notebook: Notebook, loop_id: int) -> LoopFigure | None:
    """Return what the loops of a pair say, by one of them that may lie in the bin; None for none.

    Raises:
        NotInNotebook: there is no such loop.
    """
    with notebook.database.reading() as session:
        row = fetch(session, KeptLoop, loop_id, with_binned=True)
        rows = load_loops(session, row.instrument_id).get(row.pair, ())
    return find_figure(rows) if rows else None


def find_loop_clip(notebook: Notebook, loop_id: int) -> tuple[KeptLoop, Path]:
    """Return a loop, one in the bin included, and the path of its recording.

    Raises:
        NotInNotebook: there is no such loop.
        ClipMissing: the file is gone.
    """
    with notebook.database.reading() as session:
        row = fetch(session, KeptLoop, loop_id, with_binned=True)
    return row, notebook.clips.find(row.clip_name)
