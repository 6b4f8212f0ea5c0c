"""Music stand: targets, each with the fingerings to try for it.

Fingerings come in the judge's order, then what waits on the try list; what a target was put on the
list for comes first. The number of queries does not grow with the targets.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, contains_eager

from analysis.errors import AnalysisError
from analysis.keywork import parse_fingering
from analysis.pitch import SoundingPitch, Tuning
from webapp.notebook.finder.calibrating import AskedNote, find_asked_notes
from webapp.notebook.finder.tries import is_readable
from webapp.notebook.loops.figures import LoopFigure, load_figures
from webapp.notebook.practice.practice_targets import load_targets
from webapp.notebook.practice.stand_items import Candidate, StandItem, StandLoop, StandPage
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.fetching import fetch, fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.practices import fetch_practice, find_open_practice
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    LoopPair,
    Practice,
    PracticeTarget,
    Suggestion,
    TryState,
)
from webapp.notebook.takes.playback import load_best_takes
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.bases import (
    OwnOrdinary,
    StartingPoint,
    bases_to_try,
    neighbour_bases,
    own_ordinary,
)
from webapp.notebook.targets.facts import Look
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.reading import read_target

REACH_CENTS = 25.0
LOGGED_SHOWN = 6
TO_TRY_SHOWN = 2
TRIES_SHOWN = 6
# How far beyond the written range the live display still looks for a pitch.
ROOM_CENTS = 700.0


def open_stand(notebook: Notebook, practice_id: int) -> StandPage:
    """Return the list of a session as it lies on the stand.

    Raises:
        NotInNotebook: there is no such session.
    """
    with notebook.database.reading() as session:
        practice = fetch_practice(session, practice_id)
        rows = load_targets(session, practice_id)
        return _lay_out(session, practice.instrument, practice, rows)


def open_fingering_stand(notebook: Notebook, fingering_id: int) -> StandPage:
    """Return one fingering on the stand, with the others of its target.

    Raises:
        NotInNotebook: there is no such fingering, or it is in the bin.
    """
    with notebook.database.reading() as session:
        fingering = fetch_fingering(session, fingering_id)
        row = PracticeTarget(
            target_text=fingering.written.kept_text, fingering=fingering, fingering_id=fingering_id
        )
        practice = find_open_practice(session, fingering.instrument_id, now_utc())
        return _lay_out(session, fingering.instrument, practice, [row])


def open_first_day_stand(notebook: Notebook, instrument_id: int) -> StandPage:
    """Return the notes of the first day as a list, each with the keys that it asks for.

    Raises:
        NotInNotebook: no such instrument.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        practice = find_open_practice(session, instrument_id, now_utc())
        tuning = Tuning((practice or instrument).tuning_a_hz)
        notes = find_asked_notes(session, instrument)
        items = [_asked_item(instrument, tuning, note) for note in notes]
        return _make_page(session, instrument, practice, items)


def open_target_stand(
    notebook: Notebook, instrument_id: int, text: str, *, asks_suggestions: bool = False
) -> StandPage:
    """Return one typed target on the stand; nothing typed leaves it empty.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the target cannot be read.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        rows = []
        if text.strip():
            writing = find_preferences(session)
            system = writing.accidentals
            written = read_target(text, instrument, writing.names, field="q", system=system)
            rows = [PracticeTarget(target_text=written.kept_text)]
        practice = find_open_practice(session, instrument_id, now_utc())
        return _lay_out(session, instrument, practice, rows, asks_suggestions=asks_suggestions)


def _lay_out(
    session: Session,
    instrument: Instrument,
    practice: Practice | None,
    rows: Sequence[PracticeTarget],
    *,
    asks_suggestions: bool = False,
) -> StandPage:
    tuning = Tuning((practice or instrument).tuning_a_hz)
    look = Look(width_cents=REACH_CENTS, is_brief=True)
    notes = [row.written for row in rows]
    judge = read_judge_of(session, instrument, notes, look) if rows else None
    answers = [
        judge.answer(row.written, width_cents=REACH_CENTS) if judge else None for row in rows
    ]
    shown = {
        each.facts.fingering_id: each
        for answer in answers
        if answer is not None
        for each in answer.ranked[:LOGGED_SHOWN]
    }
    pinned = {number for row in rows for number in _pinned_ids(row) if number is not None}
    logged = _load_rows(session, shown.keys() | pinned)
    tries = _load_tries(session, instrument) if rows else []
    own = own_ordinary(session, instrument)
    figures = {}
    if any(row.loop is not None for row in rows):
        figures = load_figures(session, instrument.id)
    items = [
        _loop_item(instrument, tuning, row, figures)
        or _item(instrument, tuning, row, answer, logged, tries, own, asks_suggestions)
        for row, answer in zip(rows, answers, strict=True)
        if answer is not None
    ]
    return _make_page(session, instrument, practice, items, logged.keys())


def _make_page(
    session: Session,
    instrument: Instrument,
    practice: Practice | None,
    items: Sequence[StandItem],
    logged: Collection[int] = (),
) -> StandPage:
    tuning = Tuning((practice or instrument).tuning_a_hz)
    return StandPage(
        instrument,
        practice,
        tuning.a4_hz,
        tuple(items),
        _find_range(instrument, tuning),
        practice is not None and practice.is_open_at(now_utc()),
        find_preferences(session),
        load_best_takes(session, logged) if logged else {},
    )


def _load_rows(session: Session, ids: Iterable[int]) -> dict[int, Fingering]:
    query = (
        select(Fingering)
        .join(Fingering.instrument)
        .where(Fingering.id.in_(set(ids)), Fingering.deleted_at.is_(None))
        .options(contains_eager(Fingering.instrument))
    )
    return {row.id: row for row in session.scalars(query)}


def _pinned_ids(row: PracticeTarget) -> tuple[int | None, int | None]:
    suggestion = row.suggestion
    return row.fingering_id, None if suggestion is None else suggestion.fingering_id


def _load_tries(session: Session, instrument: Instrument) -> list[Suggestion]:
    query = (
        select(Suggestion)
        .join(Suggestion.instrument)
        .where(
            Suggestion.instrument_id == instrument.id,
            Suggestion.state == TryState.WAITING.value,
            Suggestion.fingering_id.is_(None),
        )
        .options(contains_eager(Suggestion.instrument))
        .order_by(Suggestion.id)
    )
    return [row for row in session.scalars(query) if is_readable(row)]


def _item(
    instrument: Instrument,
    tuning: Tuning,
    row: PracticeTarget,
    answer: NoteAnswer,
    logged: Mapping[int, Fingering],
    tries: Sequence[Suggestion],
    own: OwnOrdinary,
    asks_suggestions: bool,
) -> StandItem:
    written, target = row.written, answer.note.sounding
    candidates = (
        *_choose_logged(row, answer, logged),
        *_choose_tries(row, target, tries),
    )
    candidates = _first_the_wanted(row, candidates)
    is_best_first = bool(candidates) and candidates[0].judged == answer.best
    neighbours: tuple[StartingPoint | None, ...] = ()
    if not candidates:
        to_try = bases_to_try(instrument, written, own)[:TO_TRY_SHOWN]
        neighbours = (*neighbour_bases(instrument, written, own), *to_try)
    return StandItem(
        row=row if row.id is not None else None,
        written=written,
        target_hz=target.hz(tuning),
        candidates=candidates,
        neighbours=tuple(each for each in neighbours if each is not None),
        reason=answer.reason if is_best_first and answer.best else "",
        remarks=answer.remarks,
        asks_suggestions=asks_suggestions or not candidates,
    )


def _loop_item(
    instrument: Instrument,
    tuning: Tuning,
    row: PracticeTarget,
    figures: Mapping[LoopPair, LoopFigure],
) -> StandItem | None:
    """Lay out a loop; None where it is none, or its keys are of an earlier keywork."""
    pair = row.loop
    if pair is None:
        return None
    try:
        lower_keys, upper_keys = (
            parse_fingering(keys, instrument.layout)
            for keys in (pair.lower_keys_text, pair.upper_keys_text)
        )
    except AnalysisError:
        return None
    return StandItem(
        row=row,
        written=pair.lower,
        target_hz=instrument.transposition.to_sounding(pair.lower).hz(tuning),
        candidates=(),
        neighbours=(),
        loop=StandLoop(pair, lower_keys, upper_keys, figures.get(pair)),
    )


def _asked_item(instrument: Instrument, tuning: Tuning, note: AskedNote) -> StandItem:
    target = instrument.transposition.to_sounding(note.written)
    own = target if note.fingering is None else SoundingPitch(note.fingering.target_cents)
    candidate = Candidate(note.fingering, None, target, own, asked=note)
    return StandItem(
        row=None,
        written=note.written,
        target_hz=target.hz(tuning),
        candidates=(candidate,),
        neighbours=(),
        is_measured=note.is_measured,
    )


def _choose_logged(
    row: PracticeTarget, answer: NoteAnswer, logged: Mapping[int, Fingering]
) -> list[Candidate]:
    pinned = [number for number in _pinned_ids(row) if number in logged]
    ranked = [each.facts.fingering_id for each in answer.ranked if not each.is_rejected]
    numbers = [*dict.fromkeys([*pinned, *ranked])][:LOGGED_SHOWN]
    every = (*answer.ranked, *answer.history, *answer.silent)
    standing = {each.facts.fingering_id: each for each in every}
    target = answer.note.sounding
    return [
        Candidate(
            logged[number],
            None,
            target,
            SoundingPitch(logged[number].target_cents),
            standing.get(number),
        )
        for number in numbers
        if number is not None
    ]


def _choose_tries(
    row: PracticeTarget, target: SoundingPitch, tries: Sequence[Suggestion]
) -> list[Candidate]:
    found = [each for each in tries if each.written.cents == row.written.cents]
    found.sort(key=lambda each: each.id != row.suggestion_id)
    return [Candidate(None, each, target, target) for each in found[:TRIES_SHOWN]]


def _first_the_wanted(
    row: PracticeTarget, candidates: tuple[Candidate, ...]
) -> tuple[Candidate, ...]:
    """Put first what the target is on the list for."""

    def is_other(each: Candidate) -> bool:
        if each.suggestion is not None:
            return each.suggestion.id != row.suggestion_id
        return each.fingering is None or each.fingering.id not in _pinned_ids(row)

    return tuple(sorted(candidates, key=is_other))


def _find_range(instrument: Instrument, tuning: Tuning) -> tuple[float, float]:
    """Return the lowest and the highest frequency to listen for."""
    low, high = instrument.lowest, instrument.top
    sounding = [instrument.transposition.to_sounding(each).cents for each in (low, high)]
    low_hz = SoundingPitch(sounding[0] - ROOM_CENTS).hz(tuning)
    return low_hz, SoundingPitch(sounding[1] + ROOM_CENTS).hz(tuning)
