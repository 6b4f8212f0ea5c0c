"""The try list: take a suggestion up, keep it or dismiss it, see what waits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session, contains_eager, joinedload

from analysis.errors import AnalysisError
from analysis.finder.strategies import Strategy
from analysis.keywork import KeyStates, check_playable, format_fingering, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.notebook.finder.finder_evidence import collect_evidence, model_of
from webapp.notebook.store.errors import FieldRefused, NotInNotebook, Refused
from webapp.notebook.store.fetching import fetch, is_row_number
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Ready, ResultCache
from webapp.notebook.store.rows import DismissReason, Instrument, Suggestion, TryState
from webapp.notebook.targets.answers import read_judge_of
from webapp.notebook.targets.bases import find_base
from webapp.notebook.targets.note_answer import NoteAnswer

if TYPE_CHECKING:
    from analysis.finder import Prediction

PREDICTING_PATIENCE_S = 10.0
REASON_CHARACTERS = 2000


@dataclass(frozen=True, slots=True)
class SuggestionNote:
    """A suggestion as a page sends it back: canonical texts, and a reference of `bases`."""

    target: str
    keys: str
    base: str
    strategy: Strategy
    is_known: bool = False  # an ordinary note or a cross-fingering of the first day: no prediction


@dataclass(frozen=True, slots=True)
class TryList:
    """An instrument's tries, sorted by what has become of them."""

    instrument: Instrument
    waiting: tuple[Suggestion, ...]
    tried: tuple[Suggestion, ...]
    kept: tuple[Suggestion, ...]
    dismissed: tuple[Suggestion, ...]
    # what the notebook has for each note that waits, by its canonical text
    answers: Mapping[str, NoteAnswer] = field(default_factory=dict)


def take_up(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    note: SuggestionNote,
    *,
    state: TryState = TryState.WAITING,
    reason: DismissReason | None = None,
    reason_notes: str = "",
) -> int:
    """Keep a suggestion with what is predicted for it now, and return its number.

    One that waits already is not kept twice; it is the same row with its first prediction.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: it is no fingering of this instrument, or its base is not there.
        Refused: the model is not ready, so nothing can be said about it yet.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        written, keys = _read(instrument, note)
        waiting = _find_waiting(session, instrument_id, written, keys)
    if waiting is not None:
        return _settle(notebook, waiting.id, state, reason, reason_notes)
    predicted = _predict(notebook, result_cache, instrument_id, written, keys)
    with notebook.database.writing() as session:
        instrument = fetch(session, Instrument, instrument_id)
        # Once more, now that nobody else can write: the same one may have been sent twice at once.
        row = _find_waiting(session, instrument_id, written, keys)
        if row is None:
            row = _make_row(session, instrument, note, predicted)
        row.state, row.reason = state.value, None if reason is None else reason.value
        row.reason_notes = _clean(reason_notes)
        session.add(row)
        session.flush()
        return row.id


def settle_try(
    notebook: Notebook,
    suggestion_id: int,
    state: TryState,
    *,
    reason: DismissReason | None = None,
    reason_notes: str = "",
) -> Suggestion:
    """Keep a try, dismiss it with a reason, or put it back on the list.

    Raises:
        NotInNotebook: there is no such try.
        Refused: it was never tried, so there is nothing to keep.
    """
    _settle(notebook, suggestion_id, state, reason, reason_notes)
    return open_try(notebook, suggestion_id)


def open_try(notebook: Notebook, suggestion_id: int) -> Suggestion:
    """Return one try with its instrument.

    Raises:
        NotInNotebook: there is no such try, or its instrument lies in the bin.
    """
    with notebook.database.reading() as session:
        return fetch_try(session, suggestion_id)


def open_try_list(notebook: Notebook, instrument_id: int) -> TryList:
    """Return the tries of an instrument, oldest first; logged ones with their fingering.

    Raises:
        NotInNotebook: no such instrument.
    """
    query = (
        select(Suggestion)
        .join(Suggestion.instrument)
        .where(Suggestion.instrument_id == instrument_id)
        .options(contains_eager(Suggestion.instrument), joinedload(Suggestion.fingering))
        .order_by(Suggestion.id)
    )
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        rows = [row for row in session.scalars(query) if is_readable(row)]
        waiting = {row.target_text: row.written for row in rows if row.state == TryState.WAITING}
        judge = read_judge_of(session, instrument, waiting.values())
    answers = {text: judge.answer(written) for text, written in waiting.items()}
    by_state = {state: tuple(row for row in rows if row.state == state) for state in TryState}
    return TryList(
        instrument,
        by_state[TryState.WAITING],
        by_state[TryState.TRIED],
        by_state[TryState.KEPT],
        by_state[TryState.DISMISSED],
        answers,
    )


def fetch_try(session: Session, suggestion_id: int) -> Suggestion:
    """Return a try with its instrument and fingering.

    Raises:
        NotInNotebook: there is none, or its instrument lies in the bin.
    """
    options = (joinedload(Suggestion.instrument), joinedload(Suggestion.fingering))
    row = (
        session.get(Suggestion, suggestion_id, options=options)
        if is_row_number(suggestion_id)
        else None
    )
    if row is None or row.instrument.deleted_at is not None:
        raise NotInNotebook(
            f"There is no try number {suggestion_id} in this notebook, or its instrument lies in "
            "the bin. The try list of the instrument shows what there is."
        )
    return row


def _settle(
    notebook: Notebook,
    suggestion_id: int,
    state: TryState,
    reason: DismissReason | None,
    reason_notes: str,
) -> int:
    with notebook.database.writing() as session:
        row = fetch_try(session, suggestion_id)
        if state is TryState.KEPT and row.fingering_id is None:
            raise Refused(
                "This suggestion has not been tried: there is no fingering to keep. Try it first."
            )
        # What was logged stays logged: back from dismissed it is a try that was made.
        if state is TryState.WAITING and row.fingering_id is not None:
            state = TryState.TRIED
        row.state = state.value
        row.reason = None if reason is None else reason.value
        row.reason_notes = _clean(reason_notes)
        return row.id


def _clean(text: str) -> str:
    return text.strip()[:REASON_CHARACTERS]


def is_readable(row: Suggestion) -> bool:
    """Tell whether the keys of a try are those of its instrument's layout; it must be loaded."""
    try:
        row.key_states(), row.base_key_states()
    except AnalysisError:
        return False
    return True


def _read(instrument: Instrument, note: SuggestionNote) -> tuple[WrittenPitch, KeyStates]:
    try:
        written = WrittenPitch.from_canonical(note.target)
        keys = parse_fingering(note.keys, instrument.layout)
        check_playable(keys)
    except AnalysisError as error:
        raise FieldRefused("keys", str(error)) from error
    return written, keys


def _find_waiting(
    session: Session, instrument_id: int, written: WrittenPitch, keys: KeyStates
) -> Suggestion | None:
    query = select(Suggestion).where(
        Suggestion.instrument_id == instrument_id,
        Suggestion.state == TryState.WAITING.value,
        Suggestion.is_for(written),
        Suggestion.keys_text == format_fingering(keys),
    )
    return session.scalars(query.order_by(Suggestion.id).limit(1)).first()


def _predict(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    written: WrittenPitch,
    keys: KeyStates,
) -> Prediction:
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        evidence = collect_evidence(session, instrument)
    outcome = model_of(
        notebook, result_cache, instrument, evidence, patience_s=PREDICTING_PATIENCE_S
    )
    if isinstance(outcome, Ready):
        return outcome.value.predict(keys, written)
    raise Refused(
        "The predictions of this instrument are not ready, so nothing was kept. Go back, load the "
        "page of suggestions again, and choose once more."
    )


def _make_row(
    session: Session, instrument: Instrument, note: SuggestionNote, predicted: Prediction
) -> Suggestion:
    written, keys = _read(instrument, note)
    base = find_base(session, instrument, note.base)
    return Suggestion(
        instrument_id=instrument.id,
        target_text=written.asking_text,
        keys_text=format_fingering(keys),
        base_reference=base.reference if base else "",
        base_keys_text=format_fingering(base.keys) if base else None,
        base_written_text=base.written.canonical if base else None,
        strategy=note.strategy.value,
        predicted_offset_cents=predicted.offset_cents,
        predicted_sigma_cents=predicted.sigma_cents,
        method_version=_method_version(),
    )


def _method_version() -> str:
    from analysis.finder import PREDICTION_VERSION

    return f"finder-{PREDICTION_VERSION}"
