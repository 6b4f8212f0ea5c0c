"""Links from a suggestion to what was logged from it, to compare prediction and measurement."""

from sqlalchemy.orm import Session

from webapp.notebook.store.fetching import LARGEST_ID
from webapp.notebook.store.rows import Fingering, Suggestion, TryState


def link_logged(session: Session, fingering: Fingering, suggestion_id: int | None) -> None:
    """Note that a fingering was logged from a suggestion, if it is what was suggested.

    Other keys or another target are another fingering: the suggestion goes on waiting then.
    """
    if suggestion_id is None or suggestion_id > LARGEST_ID:
        return
    row = session.get(Suggestion, suggestion_id)
    if row is None or row.instrument_id != fingering.instrument_id:
        return
    if (row.keys_text, row.target_text) != (fingering.keys_text, fingering.target_text):
        return
    row.fingering_id, row.state = fingering.id, TryState.TRIED.value
