"""The clip store: the only module that touches the files of takes.

A clip's name on disk is our own (random, with the ending of the format found inside); the player's
name for it is display text only. A clip is staged first (temporary file, flushed to disk, hash
taken on the way), then kept (renamed into place, folder flushed); the row is committed after that.
Killed at any step there may be a file without a row, which `quartervent check` names, but never a
row without its file. A kept clip is never written again.
"""

import hashlib
import os
import secrets
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import IO

from webapp.notebook.store.errors import ClipMissing, ClipRefused

CHUNK_BYTES = 1 << 20
ABANDONED_AFTER_S = 3600  # far longer than it takes from the last byte of a clip to its row
OWNER_FILE, OWNER_FOLDER = 0o600, 0o700  # a notebook is for its owner's eyes
_STAGING = "staging"


@dataclass(frozen=True, slots=True)
class StagedClip:
    """An upload that lies on disk and is not yet part of the notebook."""

    path: Path
    sha256: str
    byte_count: int


class ClipStore:
    """A folder of clips."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def prepare(self) -> None:
        """Make the folders, and clear what an interrupted upload left behind.

        Younger files stay: another process may serve this notebook and be receiving them.
        """
        staging = self.folder / _STAGING
        self.folder.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
        staging.mkdir(mode=OWNER_FOLDER, exist_ok=True)
        for leftover in staging.iterdir():
            if _is_settled(leftover):
                leftover.unlink(missing_ok=True)

    @contextmanager
    def staged(self, upload: IO[bytes]) -> Iterator[StagedClip]:
        """Write an upload to disk; whatever was not kept by the end of the block is removed."""
        path = self.folder / _STAGING / secrets.token_hex(16)
        try:
            yield self._write(upload, path)
        finally:
            path.unlink(missing_ok=True)

    def _write(self, upload: IO[bytes], path: Path) -> StagedClip:
        digest = hashlib.sha256()
        byte_count = 0
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_FILE)
        with os.fdopen(handle, "wb") as file:
            while chunk := upload.read(CHUNK_BYTES):
                digest.update(chunk)
                byte_count += file.write(chunk)
            file.flush()
            os.fsync(file.fileno())
        if byte_count == 0:
            raise ClipRefused("This file is empty. Choose the recording itself, or record again.")
        return StagedClip(path, digest.hexdigest(), byte_count)

    def keep(self, staged: StagedClip, ending: str) -> str:
        """Move a staged clip into the store and return its name there."""
        name = f"{secrets.token_hex(16)}.{ending}"
        staged.path.rename(self.resolve(name))
        _flush_folder(self.folder)
        return name

    def resolve(self, name: str) -> Path:
        """Return the path of a clip; a name that leaves the store is refused."""
        path = self.folder / name
        if path.is_symlink() or path.resolve().parent != self.folder.resolve():
            raise ClipMissing(
                "This clip's name leads outside the clip store, so it was not opened."
            )
        return path

    def find(self, name: str) -> Path:
        """Return the path of a clip that must be there."""
        path = self.resolve(name)
        if not path.is_file():
            raise ClipMissing(
                "The sound file of this take is missing from the clip store. Its measured numbers "
                "are kept. Put the file back from a backup; `quartervent check` says which one."
            )
        return path

    def hash(self, name: str) -> str:
        """Return the SHA-256 of a clip as it is on disk now."""
        with self.find(name).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    def hash_as_written(self, name: str) -> str:
        """Return the SHA-256 of a clip, read again only if written since."""
        path = self.find(name)
        state = path.stat()
        return _hash_file(path, state.st_mtime_ns, state.st_size)

    def remove(self, names: Iterable[str]) -> None:
        """Delete clips for good; done after their rows are gone."""
        for name in names:
            self.resolve(name).unlink(missing_ok=True)

    def is_settled(self, name: str) -> bool:
        """Whether a clip is so old that nobody can still be about to write its row."""
        return _is_settled(self.resolve(name))

    def put_back(self, source: Path, name: str) -> None:
        """Move a file of a backup, flushed and on the same disk, into the store under its name."""
        source.replace(self.resolve(name))
        _flush_folder(self.folder)

    def set_aside(self, names: Iterable[str], folder: Path) -> None:
        """Move clips out of the store into a folder on the same disk."""
        for name in names:
            for each in (folder.parent, folder):  # parents of mkdir's own get no mode
                each.mkdir(mode=OWNER_FOLDER, exist_ok=True)
            self.resolve(name).rename(folder / name)

    def names(self) -> frozenset[str]:
        """Return the names of all clips in the store; none where it was never made."""
        if not self.folder.is_dir():
            return frozenset()
        return frozenset(
            entry.name
            for entry in self.folder.iterdir()
            if entry.is_file() and not entry.is_symlink()
        )


def _is_settled(path: Path) -> bool:
    return time.time() - path.stat().st_mtime > ABANDONED_AFTER_S


@lru_cache(maxsize=4096)
def _hash_file(path: Path, written_ns: int, byte_count: int) -> str:
    """Hash a file in the state that its last write left it in."""
    del written_ns, byte_count  # with the path they name that state
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _flush_folder(folder: Path) -> None:
    if os.name == "nt":  # Windows has no file handle for a folder.
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
