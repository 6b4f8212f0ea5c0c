"""Two notebooks that hand things to each other: archives as bytes, and taken apart."""

import io
import json
import zipfile
from pathlib import Path
from typing import Any

from analysis.pitch import NoteNames
from webapp.notebook.exchange.archive import Arrived, read_archive, write_archive
from webapp.notebook.exchange.comparing import Preview
from webapp.notebook.exchange.keeping import keep_archive
from webapp.notebook.exchange.received import pass_on
from webapp.notebook.exchange.selecting import Selection, Sending, compose_document
from webapp.notebook.store.notebook import Notebook

Contents = dict[str, bytes]
Document = dict[str, Any]


def export(
    notebook: Notebook, instrument_id: int, sending: Sending | None = None, **chosen: Any
) -> bytes:
    """The archive of a selection."""
    selection = Selection(instrument_id, **chosen)
    document, clips = compose_document(
        notebook, selection, sending or Sending("A. Player"), names=NoteNames.ENGLISH
    )
    packed = io.BytesIO()
    write_archive(document, {n: notebook.clips.find(clip) for n, clip in clips.items()}, packed)
    return packed.getvalue()


def arrive(archive: bytes, folder: Path) -> Arrived:
    """Read an archive that lies in a folder."""
    path = folder / "arrived.zip"
    path.write_bytes(archive)
    return read_archive(path)


def bring_in(notebook: Notebook, archive: bytes, folder: Path) -> tuple[int, Preview]:
    """Keep an archive."""
    return keep_archive(notebook, arrive(archive, folder))


def send_on(notebook: Notebook, sender_id: int) -> bytes:
    """The archive of what came from a sender."""
    packed = io.BytesIO()
    pass_on(notebook, sender_id, packed)
    return packed.getvalue()


def unpack(archive: bytes) -> Contents:
    """Every entry of an archive by its name."""
    with zipfile.ZipFile(io.BytesIO(archive)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def document_of(archive: bytes) -> Document:
    """Its exchange.json."""
    document: Document = json.loads(unpack(archive)["exchange.json"])
    return document


def put_together(contents: Contents, document: Document | str | None = None) -> bytes:
    """Pack an archive by hand, with a document of its own; without one, that of the contents."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in contents.items():
            is_changed = name == "exchange.json" and document is not None
            text = document if isinstance(document, str) else json.dumps(document)
            archive.writestr(name, text.encode() if is_changed else content)
    return packed.getvalue()
