"""Takes played with keys that are not logged: one that counts for the note logs them.

The keys are those of a suggestion, or what the first day asks for.
"""

from contextlib import suppress
from typing import IO

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from analysis.errors import AnalysisError
from analysis.keywork import format_fingering, parse_fingering
from analysis.pitch import NoteNames, WrittenPitch
from analysis.recording import GROUP_CENTS
from webapp.notebook.finder.calibrating import CROSS_REACH_CENTS
from webapp.notebook.finder.tries import SuggestionNote, take_up
from webapp.notebook.finder.trying import log_try
from webapp.notebook.fingerings.fingerings import FingeringDraft, keep_fingering
from webapp.notebook.fingerings.sorting import give_take, keep_unsorted
from webapp.notebook.store.errors import DuplicateClip, FieldRefused, Refused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Fingering, Instrument, Take
from webapp.notebook.takes.evidence import correct_for_day
from webapp.notebook.takes.takes import TakeNote


def attach_suggested(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    suggestion: SuggestionNote,
    upload: IO[bytes],
    note: TakeNote,
) -> int:
    """Keep a take of a suggestion, and log its keys if what sounded is the note.

    A take farther away, or without a pitch, becomes an unsorted take and logs nothing, and so does
    one whose keys the instrument has no more: nothing that was played is lost.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the note of the suggestion cannot be read.
        ClipRefused: as for `attach_take`.
        DuplicateClip: the same recording is there and sorted already.
    """
    try:
        take_id = keep_unsorted(notebook, instrument_id, upload, note, meant=suggestion.target)
    except DuplicateClip as error:
        if not _is_unsorted(notebook, error.take_id):
            raise
        take_id = error.take_id
    reach_cents = CROSS_REACH_CENTS if suggestion.is_known else GROUP_CENTS
    if _counts_for_its_note(notebook, take_id, reach_cents):
        with suppress(FieldRefused, Refused, AnalysisError):  # then it stays unsorted
            fingering_id = _find_logged(notebook, instrument_id, suggestion)
            if fingering_id is None:
                fingering_id = _log(notebook, result_cache, instrument_id, suggestion)
            give_take(notebook, take_id, fingering_id)
    return take_id


def _is_unsorted(notebook: Notebook, take_id: int) -> bool:
    with notebook.database.reading() as session:
        return fetch(session, Take, take_id).fingering_id is None


def _counts_for_its_note(notebook: Notebook, take_id: int, reach_cents: float) -> bool:
    """Whether a take lies within `reach_cents` of the note it was meant for.

    As in the figure of a fingering the tuning of its day is taken out.
    """
    with notebook.database.reading() as session:
        take = fetch(
            session, Take, take_id, selectinload(Take.measurements), joinedload(Take.instrument)
        )
        written = WrittenPitch.from_canonical(take.meant_text or "")
        target = take.instrument.transposition.to_sounding(written)
        offset = correct_for_day(session, [take], target).get(take.id)
        return offset is not None and abs(offset.offset_cents) <= reach_cents


def _find_logged(notebook: Notebook, instrument_id: int, suggestion: SuggestionNote) -> int | None:
    """The fingering with these keys that was logged for this note already."""
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        keys = format_fingering(parse_fingering(suggestion.keys, instrument.layout))
        written = WrittenPitch.from_canonical(suggestion.target)
        query = select(Fingering.id).where(
            Fingering.instrument_id == instrument_id,
            Fingering.keys_text == keys,
            Fingering.target_text == written.canonical,
            Fingering.deleted_at.is_(None),
        )
        return session.scalars(query.order_by(Fingering.id).limit(1)).first()


def _log(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    suggestion: SuggestionNote,
) -> int:
    """Log a suggestion with what was predicted for it, or without where no model is ready."""
    if not suggestion.is_known:
        with suppress(Refused):
            return log_try(notebook, take_up(notebook, result_cache, instrument_id, suggestion))
    with notebook.database.writing() as session:
        return _keep(session, instrument_id, suggestion).id


def _keep(session: Session, instrument_id: int, suggestion: SuggestionNote) -> Fingering:
    instrument = fetch(session, Instrument, instrument_id)
    draft = FingeringDraft(
        keys=parse_fingering(suggestion.keys, instrument.layout),
        target=suggestion.target,
        strategy=suggestion.strategy,
        base=suggestion.base,
    )
    return keep_fingering(session, instrument, draft, NoteNames.ENGLISH)
