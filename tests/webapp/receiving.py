"""Something that came from another player, put into a notebook."""

import tempfile
from io import BytesIO
from pathlib import Path

from analysis.pitch import NoteNames
from webapp.notebook.exchange.archive import read_archive, write_archive
from webapp.notebook.exchange.keeping import keep_archive
from webapp.notebook.exchange.selecting import Selection, Sending, compose_document
from webapp.notebook.store.notebook import Notebook

ANOTHER = "f" * 32


def receive(notebook: Notebook, instrument_id: int, fingering_id: int) -> int:
    """Bring in a fingering as if another player had sent it, with a list; return the sender."""
    selection = Selection(instrument_id, fingering_ids=frozenset({fingering_id}))
    sending = Sending("Invented Player", True, "Invented list", "For next week.")
    document, clips = compose_document(notebook, selection, sending, names=NoteNames.ENGLISH)
    document = {**document, "sender": {"id": ANOTHER, "name": "Invented Player"}}
    packed = BytesIO()
    write_archive(document, {n: notebook.clips.find(clip) for n, clip in clips.items()}, packed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "arrived.zip"
        path.write_bytes(packed.getvalue())
        sender_id, _ = keep_archive(notebook, read_archive(path))
    return sender_id
