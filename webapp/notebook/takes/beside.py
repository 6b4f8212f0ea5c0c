"""Takes beside a take: those of its fingering, whose standing hangs on each other.

Takes are judged as a set, so each one that comes or goes may change what the others count for.
"""

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import selectinload

from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.fetching import fetch, fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering, Take

NEAR = timedelta(days=1)
MOST = 100


@dataclass(frozen=True, slots=True)
class TakesBeside:
    """The fingering of a take, with its takes of that day and the nights around it."""

    fingering: Fingering
    takes: tuple[Take, ...]


def find_beside(notebook: Notebook, take_id: int) -> TakesBeside | None:
    """Return the takes beside a take, itself among them, without those in the bin.

    The newest `MOST` of them; None where it is unsorted, or its fingering lies in the bin.

    Raises:
        NotInNotebook: there is no such take.
    """
    with notebook.database.reading() as session:
        take = fetch(session, Take, take_id, with_binned=True)
        if take.fingering_id is None:
            return None
        query = (
            select(Take)
            .where(
                Take.fingering_id == take.fingering_id,
                Take.deleted_at.is_(None),
                Take.recorded_at.between(take.recorded_at - NEAR, take.recorded_at + NEAR),
            )
            .options(selectinload(Take.measurements))
            .order_by(Take.id.desc())
            .limit(MOST)
        )
        try:
            fingering = fetch_fingering(session, take.fingering_id)
        except NotInNotebook:
            return None
        return TakesBeside(fingering, tuple(session.scalars(query)))
