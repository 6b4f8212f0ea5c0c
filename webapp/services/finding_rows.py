"""Fetch one row or say that it is not there; shared by the services."""

from typing import TypeVar

from sqlalchemy.orm import Session
from sqlalchemy.orm.interfaces import ORMOption

from webapp.errors import NotInNotebook, StaleEdit
from webapp.models import Fingering, Instrument, Take

_NAMES = {Instrument: "instrument", Fingering: "fingering", Take: "take"}


Row = TypeVar("Row", Instrument, Fingering, Take)


def fetch(
    session: Session, kind: type[Row], row_id: int, *options: ORMOption, with_binned: bool = False
) -> Row:
    """Return a row.

    Raises:
        NotInNotebook: there is none, or it lies in the bin and `with_binned` is off.
    """
    row = session.get(kind, row_id, options=options)
    if row is None:
        raise NotInNotebook(
            f"There is no {_NAMES[kind]} number {row_id} in this notebook. "
            "It may have been removed for good; the start page shows what there is."
        )
    if row.deleted_at is not None and not with_binned:
        raise NotInNotebook(f"This {_NAMES[kind]} lies in the bin. Open the bin to put it back.")
    return row


def check_version(row: Instrument | Fingering, seen_version: int) -> None:
    """Refuse an edit of a row that was saved elsewhere since the form was opened.

    Raises:
        StaleEdit: the version the player saw is not the newest.
    """
    if row.version != seen_version:
        raise StaleEdit(
            "This entry was changed in another window after you opened it here. "
            "Both versions are shown below; nothing was overwritten."
        )
