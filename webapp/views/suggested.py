"""The log page filled in from a suggestion that the player tries."""

from analysis.errors import AnalysisError
from analysis.keywork import Fingering as KeyStates
from webapp.errors import NotebookError
from webapp.forms import FingeringForm, read_count
from webapp.models import Instrument
from webapp.presenting import current_notebook
from webapp.services.tries import open_try


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
