"""Fingerings that are the same to the air: other keys, the same holes open.

The state of the holes stands in the row (`hole_signature`), so that finding them is one look in an
index. Sharing is wished for once and holds for all of them that have the same target.
"""

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.notebook.store.errors import Refused
from webapp.notebook.store.fetching import fetch_fingering
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Fingering
from webapp.notebook.takes.evidence import refresh_evidence

SAME_SHOWN = 12


def find_same(session: Session, fingering: Fingering) -> tuple[Fingering, ...]:
    """Return the other fingerings of this instrument that leave the same holes open."""
    if fingering.hole_signature is None:
        return ()
    query = (
        select(Fingering)
        .where(
            Fingering.instrument_id == fingering.instrument_id,
            Fingering.hole_signature == fingering.hole_signature,
            Fingering.deleted_at.is_(None),
            Fingering.id != fingering.id,
        )
        .order_by(Fingering.written_cents != fingering.written_cents, Fingering.id)
        .limit(SAME_SHOWN)
    )
    return tuple(session.scalars(query))


def share_evidence(notebook: Notebook, fingering_id: int, *, is_shared: bool) -> None:
    """Pool the takes of all fingerings with these holes and this target, or keep them apart again.

    Raises:
        NotInNotebook: there is no such fingering.
        Refused: there is no other one to share with.
    """
    with notebook.database.writing() as session:
        fingering = fetch_fingering(session, fingering_id)
        others = [
            each
            for each in find_same(session, fingering)
            if each.written_cents == fingering.written_cents
        ]
        if is_shared and not others:
            raise Refused(
                "No other fingering of this instrument has the same holes open and the same "
                "target, so there is no evidence to share."
            )
        for each in (fingering, *others):
            each.shares_evidence = is_shared
        session.flush()
        for each in (fingering, *others):
            refresh_evidence(session, each)
