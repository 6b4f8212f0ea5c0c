"""Opens the search page in one read: the instruments, what was found, what could be tried."""

from dataclasses import dataclass, replace

from webapp.notebook.finder.suggesting import SuggestionPage, WishList, peek_suggestions
from webapp.notebook.instruments.instruments import load_instruments
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import ResultCache
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.search import SearchQuery, SearchResult, search_within


@dataclass(frozen=True, slots=True)
class SearchPage:
    """What the search page shows; without a result `problem` says what cannot be searched for."""

    instruments: tuple[Instrument, ...]
    writing: Writing
    result: SearchResult | None = None
    suggested: SuggestionPage | None = None
    problem: FieldRefused | None = None


def open_search(
    notebook: Notebook,
    result_cache: ResultCache,
    query: SearchQuery | None,
    *,
    is_only_meant: bool = False,
) -> SearchPage:
    """Search a target, and suggest what to try where nothing is found and the model is there.

    Without a query only the instruments are read. What was typed is refused in the page itself.
    With `is_only_meant` the only instrument of the notebook is meant where none is named.

    Raises:
        NotInNotebook: the instrument is not there.
    """
    with notebook.database.reading() as session:
        instruments, writing = load_instruments(session), find_preferences(session)
        if query is None:
            return SearchPage(instruments, writing)
        if is_only_meant and len(instruments) == 1:
            query = replace(query, instrument_id=instruments[0].id)
        try:
            result = search_within(session, query, names=writing.names)
        except FieldRefused as error:
            return SearchPage(instruments, writing, problem=error)
        suggested = None
        if not result.hit_count and result.target is not None and result.instrument is not None:
            suggested = peek_suggestions(
                session,
                notebook,
                result_cache,
                result.instrument,
                result.target.written,
                WishList(tolerance_cents=writing.tolerance_cents),
            )
        return SearchPage(instruments, writing, result, suggested)
