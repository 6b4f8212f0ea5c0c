"""Fetch one row or say that it is not there; shared by the services."""

from typing import TypeVar

from sqlalchemy.orm import Session, joinedload
from sqlalchemy.orm.interfaces import ORMOption

from webapp.notebook.store.errors import NotInNotebook, StaleEdit
from webapp.notebook.store.postgresql import LARGEST_INTEGER
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    KeptLoop,
    LongRecording,
    Piece,
    Sender,
    Take,
)

LARGEST_ID = LARGEST_INTEGER  # of a row, on every engine; no notebook comes near it
_NAMES = {
    Instrument: "instrument",
    Fingering: "fingering",
    Take: "take",
    LongRecording: "long recording",
    KeptLoop: "loop",
    Piece: "piece",
    Sender: "sender",
}


Row = TypeVar("Row", Instrument, Fingering, Take, LongRecording, KeptLoop, Piece, Sender)


def is_row_number(number: int) -> bool:
    """Whether a number from outside can be that of a row at all; others are never asked for."""
    return 0 < number <= LARGEST_ID


def read_row_number(text: str) -> int:
    """Read what may be the number of a row; 0, which no row has, for anything else."""
    number = int(text) if text.isdecimal() and len(text) <= len(str(LARGEST_ID)) else 0
    return number if is_row_number(number) else 0


def fetch(
    session: Session, kind: type[Row], row_id: int, *options: ORMOption, with_binned: bool = False
) -> Row:
    """Return a row.

    Raises:
        NotInNotebook: there is none, or it lies in the bin and `with_binned` is off.
    """
    row = session.get(kind, row_id, options=options) if is_row_number(row_id) else None
    if row is None:
        raise NotInNotebook(
            f"There is no {_NAMES[kind]} number {row_id} in this notebook. "
            "It may have been removed for good; the start page shows what there is."
        )
    if row.deleted_at is not None and not with_binned:
        raise NotInNotebook(f"This {_NAMES[kind]} lies in the bin. Open the bin to put it back.")
    return row


def fetch_fingering(session: Session, fingering_id: int, *options: ORMOption) -> Fingering:
    """Return a fingering with its instrument.

    Raises:
        NotInNotebook: there is none, or it or its instrument lies in the bin.
    """
    row = fetch(session, Fingering, fingering_id, joinedload(Fingering.instrument), *options)
    if row.instrument.deleted_at is not None:
        raise NotInNotebook(
            "The instrument of this fingering lies in the bin. Open the bin to put it back."
        )
    return row


def raise_version(row: Instrument | Fingering | Piece, seen_version: int) -> None:
    """Count an edit, or refuse it where the row was saved elsewhere since the form was opened.

    Raises:
        StaleEdit: the version the player saw is not the newest.
    """
    if row.version != seen_version:
        raise StaleEdit(
            "This entry was changed in another window after you opened it here. "
            "Both versions are shown below; nothing was overwritten."
        )
    row.version += 1
