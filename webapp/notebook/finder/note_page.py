"""Opens the page of one note in one read: what is known, what does not speak, what to try."""

from dataclasses import dataclass

from analysis.pitch import QUARTER_TONES, NoteNames, WrittenPitch
from webapp.notebook.finder.suggesting import (
    SuggestionPage,
    WishList,
    answer_question,
    ask_within,
)
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.range import choose_grid
from webapp.notebook.targets.reading import read_target
from webapp.notebook.targets.search import SearchQuery, SearchResult, search_within

MOST_KNOWN = 20
MOST_TO_TRY = 5
BESIDE = 2  # on each side
PATIENCE_S = 0.3  # the page shows what is known meanwhile, and completes itself


@dataclass(frozen=True, slots=True)
class NotePage:
    """Everything about one note on one instrument; `beside` are the quarter tones around it."""

    instrument: Instrument
    written: WrittenPitch
    writing: Writing
    known: SearchResult
    suggested: SuggestionPage
    beside: tuple[WrittenPitch, ...]


def open_note(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    note: str,
    *,
    patience_s: float = PATIENCE_S,
) -> NotePage:
    """Return the page of a note, given by its canonical text.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the text is no note.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        written = read_target(note, instrument, NoteNames.ENGLISH, field="q")
        writing = find_preferences(session)
        query = SearchQuery(written.asking_text, instrument_id, hits_on_a_page=MOST_KNOWN)
        known = search_within(session, query, names=NoteNames.ENGLISH)
        wishes = WishList(tolerance_cents=writing.tolerance_cents, most_shown=MOST_TO_TRY)
        question = ask_within(session, instrument, written, wishes)
    suggested = answer_question(notebook, result_cache, question, patience_s=patience_s)
    return NotePage(
        instrument, written, writing, known, suggested, _find_beside(instrument, written)
    )


def read_note(notebook: Notebook, instrument_id: int, text: str) -> WrittenPitch:
    """Read a note as the player typed it for an instrument.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the text cannot be read, or has several meanings.
    """
    with notebook.database.reading() as session:
        instrument, writing = fetch(session, Instrument, instrument_id), find_preferences(session)
        system = writing.accidentals
        return read_target(text, instrument, writing.names, field="q", system=system)


def _find_beside(instrument: Instrument, written: WrittenPitch) -> tuple[WrittenPitch, ...]:
    steps = choose_grid(instrument, QUARTER_TONES)
    below = [each for each in steps if each.cents < written.cents]
    above = [each for each in steps if each.cents > written.cents]
    return (*below[-BESIDE:], *above[:BESIDE])
