"""Link a logged fingering to its suggestion, so that prediction and measurement compare."""

from sqlalchemy.orm import Session

from webapp.notebook.store.fetching import is_row_number
from webapp.notebook.store.rows import Fingering, Suggestion, TryState


def link_logged(session: Session, fingering: Fingering, suggestion_id: int | None) -> None:
    """Note that a fingering was logged from a suggestion, if it is what was suggested.

    Other keys or another target are another fingering: the suggestion goes on waiting then.
    """
    if suggestion_id is None or not is_row_number(suggestion_id):
        return
    row = session.get(Suggestion, suggestion_id)
    if row is None or row.instrument_id != fingering.instrument_id:
        return
    if (row.keys_text, row.target_text) != (fingering.keys_text, fingering.target_text):
        return
    row.fingering_id, row.state = fingering.id, TryState.TRIED.value
