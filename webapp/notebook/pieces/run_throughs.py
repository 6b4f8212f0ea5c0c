"""Run-throughs of a piece: a passage played at tempo, each note in context beside its held figure.

The recording is matched with the passage (`analysis.performance`) while the player waits, and kept
with what was found; it is no evidence for a fingering. By how much all notes lay higher than held,
as on a warm day, is taken off before a note is said to lie otherwise.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.errors import AnalysisError
from analysis.performance import read_performance
from analysis.pitch import WrittenPitch
from analysis.recording import Recording, decode_clip
from analysis.score import ScorePart
from webapp.notebook.pieces.decisions import load_decisions
from webapp.notebook.pieces.needs import collect_needs
from webapp.notebook.pieces.originals import find_original, read_piece
from webapp.notebook.pieces.passage_notes import Stretch, find_tempo
from webapp.notebook.pieces.pieces import choose_instrument, load_instruments
from webapp.notebook.pieces.run_figures import (
    RunPage,
    RunRow,
    find_shift,
    judge_row,
    make_note,
    sort_rows,
)
from webapp.notebook.pieces.run_passage import expect, load_notes
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import ClipRefused, NotebookError, NotInNotebook
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import find_open_practice
from webapp.notebook.store.rows import Instrument, KeptRun, Piece, RunNote, exact_key
from webapp.notebook.takes.incoming import sniff_staged
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.facts import Look

LONGEST_RUN_S = 180.0  # longer ones take more than a second to match
RUNS_SHOWN = 20


@dataclass(frozen=True, slots=True)
class ChosenBar:
    """A bar to choose: its index and its name, the quarter notes in it, the tempo there or None."""

    index: int
    label: str
    quarters: float
    quarters_per_minute: float | None


@dataclass(frozen=True, slots=True)
class RunsPage:
    """A piece on one of its instruments, its bars, and its run-throughs, the newest first."""

    piece: Piece
    instrument: Instrument
    instruments: tuple[Instrument, ...]
    part: ScorePart
    bars: tuple[ChosenBar, ...]
    runs: tuple[KeptRun, ...]


@dataclass(frozen=True, slots=True)
class InContext:
    """A note that lay otherwise in context than held: where, when, and by how many cents."""

    run: KeptRun
    row: RunRow


def open_runs(notebook: Notebook, piece_id: int, instrument_id: int | None = None) -> RunsPage:
    """Return what a run-through of a piece can be of, and those that were played.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: no instrument of it is left.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        chosen = load_instruments(session, [piece.id]).get(piece.id, ())
        instrument = choose_instrument(session, chosen, instrument_id)
        part = read_piece(
            session, notebook, piece, find_original(session, piece.id), instrument.transposition
        )
        query = (
            select(KeptRun)
            .where(KeptRun.piece_id == piece_id, KeptRun.instrument_id == instrument.id)
            .options(selectinload(KeptRun.notes))
            .order_by(KeptRun.played_at.desc(), KeptRun.id.desc())
        )
        runs = tuple(session.scalars(query.limit(RUNS_SHOWN)))
    bars = tuple(
        ChosenBar(
            each.index,
            each.label or f"({each.index + 1})",
            float(each.length),
            find_tempo(part, each.index),
        )
        for each in part.bars
    )
    return RunsPage(piece, instrument, chosen, part, bars, runs)


def keep_run(
    notebook: Notebook, piece_id: int, instrument_id: int, stretch: Stretch, upload: IO[bytes]
) -> int:
    """Match a recording with a passage, keep both, and return the number of the run-through.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: there is nothing to play there, or it is no tempo.
        ClipRefused: the file is no recording, is too long, or holds another passage.
    """
    with notebook.clips.staged(upload) as staged:
        clip_format = sniff_staged(staged)
        row = match_run(notebook, piece_id, instrument_id, stretch, staged.path).run
        row.clip_format, row.sha256, row.byte_count = clip_format, staged.sha256, staged.byte_count
        row.clip_name = notebook.clips.keep(staged, clip_format)
    try:
        with notebook.database.writing() as session:
            fetch(session, Piece, piece_id)
            fetch(session, Instrument, instrument_id)
            session.add(row)
            session.flush()
            return row.id
    except NotebookError:
        notebook.clips.remove([row.clip_name])
        raise


def match_run(
    notebook: Notebook, piece_id: int, instrument_id: int, stretch: Stretch, path: Path
) -> RunPage:
    """Match a recording with a passage of a piece; nothing is kept.

    Raises:
        NotInNotebook: there is no such piece or instrument.
        FieldRefused: there is nothing to play there, or it is no tempo.
        ClipRefused: the file is no recording, is too long, or holds another passage.
    """
    with notebook.database.reading() as session:
        piece, instrument = (
            fetch(session, Piece, piece_id),
            fetch(session, Instrument, instrument_id),
        )
        original = find_original(session, piece_id)
        part = read_piece(session, notebook, piece, original, instrument.transposition)
        decisions = load_decisions(session, piece_id, instrument_id)
        held = load_notes(session, instrument, part, decisions, stretch)
        tolerances = _find_tolerances(
            session, instrument, part, [each.timed.written for each in held]
        )
        practice = find_open_practice(session, instrument_id, now_utc())
    tuning_a_hz = (practice or instrument).tuning_a_hz
    sound = _decode(path)
    found = read_performance(
        sound.samples,
        sound.sample_rate_hz,
        expect(held, part, instrument, stretch),
        tuning_a_hz=tuning_a_hz,
    )
    bars = tuple(
        part.bars[each].label or f"({each + 1})" for each in (stretch.first_bar, stretch.last_bar)
    )
    if not found.is_passage:
        heard = sum(bool(each.right_count) for each in found.notes)
        raise ClipRefused(
            f"This does not sound like bars {bars[0]} to {bars[1]} on {instrument.name}: "
            f"{heard} of {len(held)} notes were recognised. Choose the bars that you played."
        )
    notes = [make_note(*each, instrument) for each in zip(held, found.notes, strict=True)]
    row = KeptRun(
        piece_id=piece_id,
        instrument_id=instrument_id,
        first_bar=stretch.first_bar,
        last_bar=stretch.last_bar,
        first_label=bars[0],
        last_label=bars[1],
        quarters_per_minute=stretch.quarters_per_minute or 0.0,
        tuning_a_hz=tuning_a_hz,
        duration_s=sound.duration_s,
        tempo_share=found.tempo_share,
        uneven_s=found.uneven_s,
        shift_cents=find_shift(notes),
        extra_count=sum(each.place is None for each in found.played),
        played_at=now_utc(),
        notes=notes,
    )
    return RunPage(row, piece, instrument, sort_rows(row, tolerances))


def _decode(path: Path) -> Recording:
    try:
        sound = decode_clip(path)
    except AnalysisError as error:
        raise ClipRefused(str(error)) from error
    if sound.duration_s > LONGEST_RUN_S:
        raise ClipRefused(
            f"This recording lasts {sound.duration_s / 60:.1f} minutes; a run-through may last "
            f"{LONGEST_RUN_S / 60:g}. Play a shorter passage."
        )
    return sound


def open_run(notebook: Notebook, piece_id: int, run_id: int) -> RunPage:
    """Return a run-through with its notes.

    Raises:
        NotInNotebook: there is no such piece, or it has no such run-through.
    """
    with notebook.database.reading() as session:
        piece = fetch(session, Piece, piece_id)
        run = _fetch_run(session, piece_id, run_id)
        original = find_original(session, piece_id)
        part = read_piece(session, notebook, piece, original, run.instrument.transposition)
        notes = [each.pitch for each in run.notes]
        tolerances = _find_tolerances(session, run.instrument, part, notes)
        return RunPage(run, piece, run.instrument, sort_rows(run, tolerances))


def _find_tolerances(
    session: Session, instrument: Instrument, part: ScorePart, notes: Sequence[WrittenPitch]
) -> dict[str, float]:
    """Return what counts as in tune for notes of a part, in cents, by their exact written cents.

    A note's own tolerance comes before what the part asks, that before the player's usual one.
    """
    judge = read_judge_of(session, instrument, notes, Look(is_brief=True))
    asked = collect_needs(part, instrument.transposition).find_tolerances(judge.tolerance_cents)
    return {
        exact_key(each.cents): judge.note(each, asked.get(each.cents)).tolerance_cents
        for each in notes
    }


def find_run_clip(notebook: Notebook, piece_id: int, run_id: int) -> tuple[KeptRun, Path]:
    """Return a run-through and the path of its recording.

    Raises:
        NotInNotebook: there is no such piece, or it has no such run-through.
        ClipMissing: the file is gone.
    """
    with notebook.database.reading() as session:
        fetch(session, Piece, piece_id)
        run = _fetch_run(session, piece_id, run_id)
    return run, notebook.clips.find(run.clip_name)


def remove_run(notebook: Notebook, piece_id: int, run_id: int) -> None:
    """Remove a run-through and its recording for good.

    Raises:
        NotInNotebook: there is no such piece, or it has no such run-through.
    """
    with notebook.database.writing() as session:
        fetch(session, Piece, piece_id)
        run = _fetch_run(session, piece_id, run_id)
        name = run.clip_name
        session.delete(run)
    notebook.clips.remove([name])


def find_in_context(notebook: Notebook, instrument_id: int, key: str) -> tuple[InContext, ...]:
    """Return where a note lay otherwise in the newest run-through of each piece, newest first.

    `key` is the note's exact written cents (`exact_key`).
    """
    query = (
        select(RunNote)
        .join(RunNote.run)
        .join(KeptRun.piece)
        .where(
            KeptRun.instrument_id == instrument_id,
            RunNote.written_exact == key,
            RunNote.context_cents.is_not(None),
            Piece.deleted_at.is_(None),
        )
        .options(joinedload(RunNote.run).joinedload(KeptRun.piece))
        .order_by(KeptRun.played_at.desc(), KeptRun.id.desc(), RunNote.position)
        .limit(10 * RUNS_SHOWN)
    )
    with notebook.database.reading() as session:
        notes = session.scalars(query).all()
    newest: dict[int, int] = {}
    for each in notes:
        newest.setdefault(each.run.piece_id, each.run_id)
    rows = [
        InContext(each.run, judge_row(each, each.run.shift_cents))
        for each in notes
        if newest[each.run.piece_id] == each.run_id
    ]
    return tuple(each for each in rows if each.row.is_otherwise)


def _fetch_run(session: Session, piece_id: int, run_id: int) -> KeptRun:
    run = None
    if is_row_number(run_id):
        options = (joinedload(KeptRun.instrument), selectinload(KeptRun.notes))
        run = session.get(KeptRun, run_id, options=options)
    if run is None or run.piece_id != piece_id or run.instrument.deleted_at is not None:
        raise NotInNotebook("This piece has no such run-through. Its page lists those that it has.")
    return run
