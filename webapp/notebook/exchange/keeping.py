"""Keep an archive: rows of its own below its sender, recordings in the clip store.

The recordings are brought in first, as with every take: killed anywhere there may be a clip without
a row, never a row without its clip. What counts is compared once more within the transaction, so
that an archive that is sent twice at once is kept once.
"""

from collections.abc import Iterator
from io import RawIOBase
from typing import IO, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.notebook.exchange.archive import TAKES, Arrived, opened, read_entry
from webapp.notebook.exchange.comparing import (
    Preview,
    Standpoint,
    compare,
    instrument_alone,
    preview_document,
    without_sounds,
)
from webapp.notebook.exchange.documents import (
    TheirFingering,
    TheirInstrument,
    TheirList,
    write_details,
)
from webapp.notebook.store.clock import now_utc
from webapp.notebook.store.errors import ExchangeRefused, NotebookError
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    ReceivedClip,
    ReceivedFingering,
    ReceivedInstrument,
    ReceivedList,
    Sender,
)


def keep_archive(notebook: Notebook, arrived: Arrived) -> tuple[int, Preview]:
    """Keep what an archive brings; return the number of its sender, and what came in.

    Raises:
        ExchangeRefused: it came from this very notebook, or changed since it was read.
        OSError: it cannot be read or written.
    """
    clips = _bring_in(notebook, arrived, preview_document(notebook, arrived.document))
    used: set[str] = set()
    try:
        with notebook.database.writing() as session:
            preview = compare(session, arrived.document)
            sender_id = _keep_rows(session, preview, clips, used)
    except NotebookError:
        # Raised on purpose before anything was committed; after other errors the clips stay, since
        # the commit may have happened.
        notebook.clips.remove(clips.values())
        raise
    notebook.clips.remove(name for name in clips.values() if name not in used)
    return sender_id, preview


def _as_file(chunks: Iterator[bytes]) -> IO[bytes]:
    return cast(IO[bytes], _Entry(chunks))


class _Entry(RawIOBase):
    """An entry of an archive as a file to be read."""

    def __init__(self, chunks: Iterator[bytes]) -> None:
        self._chunks = chunks

    def read(self, size: int = -1) -> bytes:
        """Return the next piece; empty at the end."""
        del size
        return next(self._chunks, b"")


def _bring_in(notebook: Notebook, arrived: Arrived, preview: Preview) -> dict[str, str]:
    """Put new recordings into the store; return the name there of each entry.

    The same recording of two fingerings comes in twice, since each row has a clip of its own.
    """
    kept: dict[str, str] = {}
    try:
        with opened(arrived.path) as archive:
            for each in preview.fingerings:
                for name in each.new_sounds:
                    with notebook.clips.staged(_as_file(read_entry(archive, name))) as staged:
                        sha256, _, ending = name.removeprefix(TAKES).partition(".")
                        if staged.sha256 != sha256:
                            raise ExchangeRefused(
                                "This archive was changed while it was read. Nothing was kept."
                            )
                        kept[f"{each.fingering.uid} {name}"] = notebook.clips.keep(staged, ending)
    except BaseException:
        notebook.clips.remove(kept.values())
        raise
    return kept


def _keep_rows(session: Session, preview: Preview, clips: dict[str, str], used: set[str]) -> int:
    said = preview.document["sender"]
    sender = session.scalars(select(Sender).where(Sender.uid == said["id"])).first()
    if sender is None:
        sender = Sender(uid=said["id"], name=said["name"])
        session.add(sender)
    if not preview.changes_nothing:
        sender.name = said["name"] or sender.name
        sender.received_at = now_utc()
        sender.deleted_at = None
    session.flush()
    instruments = {
        each.said["id"]: _keep_instrument(session, sender, each, how)
        for each, how in preview.instruments
    }
    for compared in preview.fingerings:
        if compared.is_kept:
            owner = instruments[compared.fingering.instrument.said["id"]]
            row = _keep_fingering(session, owner, compared.fingering)
            for name in compared.new_sounds:
                clip_name = clips[f"{compared.fingering.uid} {name}"]
                used.add(clip_name)
                session.add(_clip_of(row, name, clip_name))
    for each, how in preview.lists:
        _keep_list(session, sender, TheirList(each), how)
    return sender.id


def _keep_instrument(
    session: Session, sender: Sender, theirs: TheirInstrument, how: Standpoint
) -> ReceivedInstrument:
    query = select(ReceivedInstrument).where(
        ReceivedInstrument.sender_id == sender.id, ReceivedInstrument.uid == theirs.said["id"]
    )
    row = session.scalars(query).first()
    if row is None:
        row = ReceivedInstrument(sender_id=sender.id, uid=theirs.said["id"])
    if how in (Standpoint.NEW, Standpoint.CHANGED):
        row.changed_at = theirs.changed_at
        row.kind_id = theirs.said["kind"]
        row.details = write_details(instrument_alone(theirs.said))
    session.add(row)
    session.flush()
    return row


def _keep_fingering(
    session: Session, owner: ReceivedInstrument, theirs: TheirFingering
) -> ReceivedFingering:
    query = (
        select(ReceivedFingering)
        .join(ReceivedFingering.instrument)
        .where(ReceivedInstrument.sender_id == owner.sender_id, ReceivedFingering.uid == theirs.uid)
    )
    with session.no_autoflush:  # not before it is filled
        row = session.scalars(query).first() or ReceivedFingering(uid=theirs.uid)
    row.instrument_id = owner.id
    row.changed_at = theirs.changed_at
    row.sounding_cents = theirs.sounding_cents
    row.details = write_details(without_sounds(theirs.said))
    session.add(row)
    session.flush()
    return row


def _clip_of(row: ReceivedFingering, name: str, clip_name: str) -> ReceivedClip:
    sha256, _, ending = name.removeprefix(TAKES).partition(".")
    return ReceivedClip(fingering_id=row.id, clip_name=clip_name, clip_format=ending, sha256=sha256)


def _keep_list(session: Session, sender: Sender, theirs: TheirList, how: Standpoint) -> None:
    if how not in (Standpoint.NEW, Standpoint.CHANGED):
        return
    query = select(ReceivedList).where(
        ReceivedList.sender_id == sender.id, ReceivedList.uid == theirs.said["id"]
    )
    row = session.scalars(query).first()
    if row is None:
        row = ReceivedList(sender_id=sender.id, uid=theirs.said["id"])
        session.add(row)
    row.changed_at = theirs.changed_at
    row.details = write_details(theirs.said)
    row.accepted_at = None
