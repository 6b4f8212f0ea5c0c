"""Archives that arrived and wait for the player's word: looked at, then kept or thrown away.

They lie in a folder beside the notebook's rows, each under its own hash, and are no part of it.
"""

import hashlib
import os
import re
import secrets
from pathlib import Path
from typing import IO

from webapp.notebook.exchange.archive import Arrived, read_archive
from webapp.notebook.safekeeping.archive_bounds import CHUNK_BYTES
from webapp.notebook.safekeeping.leftovers import ARRIVING_FOLDER
from webapp.notebook.store.clips import OWNER_FILE, OWNER_FOLDER
from webapp.notebook.store.errors import NotInNotebook
from webapp.notebook.store.notebook import Notebook

_NAME = re.compile(r"[0-9a-f]{64}")


def take_in(notebook: Notebook, upload: IO[bytes]) -> str:
    """Put an archive down beside the notebook and read it; return the hash that it is known by.

    Only the last one waits: what lay there before is thrown away.

    Raises:
        ExchangeRefused: it is none, damaged, incomplete or hostile; it is thrown away.
    """
    folder = notebook.folder / ARRIVING_FOLDER
    folder.mkdir(mode=OWNER_FOLDER, exist_ok=True)
    for each in folder.iterdir():
        each.unlink(missing_ok=True)
    draft = folder / secrets.token_hex(8)
    digest = hashlib.sha256()
    try:
        with os.fdopen(
            os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_FILE), "wb"
        ) as file:
            while chunk := upload.read(CHUNK_BYTES):
                digest.update(chunk)
                file.write(chunk)
        read_archive(draft)
        draft.rename(folder / digest.hexdigest())
    finally:
        draft.unlink(missing_ok=True)
    return digest.hexdigest()


def open_arrived(notebook: Notebook, sha256: str) -> Arrived:
    """Read an archive that waits.

    Raises:
        NotInNotebook: none waits under this hash.
        ExchangeRefused: it is damaged.
    """
    return read_archive(_find(notebook, sha256))


def throw_away(notebook: Notebook, sha256: str) -> None:
    """Remove an archive that waits; one that is gone already is no fault."""
    if _NAME.fullmatch(sha256):
        (notebook.folder / ARRIVING_FOLDER / sha256).unlink(missing_ok=True)


def _find(notebook: Notebook, sha256: str) -> Path:
    path = notebook.folder / ARRIVING_FOLDER / sha256
    if not _NAME.fullmatch(sha256) or not path.is_file():
        raise NotInNotebook(
            "This archive does not wait here any more: it was kept, thrown away, or another one "
            "came. Choose the file again."
        )
    return path
