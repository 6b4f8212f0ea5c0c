"""The log page filled in from a suggestion that the player tries."""

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates
from webapp.forms.entries import FingeringForm, read_count
from webapp.notebook.finder.tries import open_try
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.rows import Instrument
from webapp.presenting.words import current_notebook


def fill_from_suggestion(form: FingeringForm, instrument: Instrument, keys: KeyStates) -> KeyStates:
    """Return the suggested keys and set the suggested strategy; `keys` where there is none."""
    suggestion_id = read_count(form.suggestion)
    if suggestion_id is None:
        return keys
    try:
        row = open_try(current_notebook(), suggestion_id)
        suggested = row.key_states()
    except (NotebookError, AnalysisError):
        return keys
    if row.instrument_id != instrument.id:
        return keys
    form.strategy.data = row.strategy
    return suggested
