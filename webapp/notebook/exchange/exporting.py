"""Export: the archive of a selection, written to a place of its own or into an open file."""

import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from analysis.pitch import NoteNames
from webapp.notebook.exchange.archive import write_archive
from webapp.notebook.exchange.selecting import Selection, Sending, compose_document
from webapp.notebook.store.errors import ExchangeRefused
from webapp.notebook.store.notebook import Notebook


@dataclass(frozen=True, slots=True)
class Exported:
    """Count of what went into an archive."""

    fingering_count: int
    recording_count: int

    @property
    def words(self) -> str:
        """Both in words."""
        fingerings = _count(self.fingering_count, "fingering")
        return f"{fingerings} and {_count(self.recording_count, 'recording')}"


def make_export(
    notebook: Notebook,
    target: IO[bytes],
    selection: Selection,
    sending: Sending,
    *,
    names: NoteNames,
) -> Exported:
    """Write the archive of a selection into an open file.

    Raises:
        NotInNotebook: there is no such instrument or practice.
        FieldRefused: a range end cannot be read, or a text is too long.
        Refused: nothing is chosen, or too much; a recording is not the one that was measured.
    """
    document, clips = compose_document(notebook, selection, sending, names=names)
    paths = {name: notebook.clips.find(clip) for name, clip in clips.items()}
    write_archive(document, paths, target)
    fingerings = document["instruments"][0]["fingerings"]
    return Exported(len(fingerings), len(clips))


def write_export(
    notebook: Notebook, path: Path, selection: Selection, sending: Sending, *, names: NoteNames
) -> Exported:
    """Write it at a path where nothing is yet; it appears there only when it is whole.

    Raises:
        ExchangeRefused: there is something at that path.
        OSError: it cannot be written there.
        NotInNotebook, FieldRefused, Refused: as `make_export`.
    """
    if path.exists():
        raise ExchangeRefused(f"There is a file {path.name} already. Choose another name.")
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as target:
            done = make_export(notebook, target, selection, sending, names=names)
            target.flush()
            os.fsync(target.fileno())
        draft.rename(path)
    finally:
        draft.unlink(missing_ok=True)
    return done


def _count(number: int, noun: str) -> str:
    return f"1 {noun}" if number == 1 else f"{number} {noun}s"
