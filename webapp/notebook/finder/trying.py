"""From a suggestion straight to the notebook, as happens at the music stand.

The first take of a try logs it as a fingering.
"""

from sqlalchemy.orm import Session

from analysis.finder.strategies import Strategy
from analysis.pitch import NoteNames
from webapp.notebook.finder.tries import fetch_try
from webapp.notebook.fingerings.fingerings import FingeringDraft, keep_fingering
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Suggestion
from webapp.notebook.targets.bases import find_base


def log_try(notebook: Notebook, suggestion_id: int) -> int:
    """Log a suggestion as a fingering and return its number; it is never logged twice.

    A suggestion that was dismissed meanwhile is logged as well: a take that waited is evidence.

    Raises:
        NotInNotebook: there is no such try, or its instrument lies in the bin.
        Refused: the hands cannot do it any more.
        AnalysisError: its keys cannot be read on the layout that the instrument has now.
    """
    with notebook.database.writing() as session:
        row = fetch_try(session, suggestion_id)
        if row.fingering_id is not None:
            return row.fingering_id
        # The target is written in its canonical form, which is English whatever the player reads.
        kept = keep_fingering(session, row.instrument, _draft(session, row), NoteNames.ENGLISH)
        _keep_base(kept, row)
        return kept.id


def _draft(session: Session, row: Suggestion) -> FingeringDraft:
    return FingeringDraft(
        keys=row.key_states(),
        target=row.target_text,
        strategy=Strategy(row.strategy),
        base=_find_reference(session, row),
        suggestion_id=row.id,
    )


def _find_reference(session: Session, row: Suggestion) -> str:
    """Return the reference of the base, or none where it leads nowhere any more."""
    try:
        found = find_base(session, row.instrument, row.base_reference)
    except FieldRefused:
        return ""
    return found.reference if found else ""


def _keep_base(fingering: Fingering, row: Suggestion) -> None:
    """Keep the base as it was when the suggestion was made, whatever became of it."""
    if row.base_keys_text is not None:
        fingering.base_keys_text = row.base_keys_text
        fingering.base_written_text = row.base_written_text
