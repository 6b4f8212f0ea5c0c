"""Cache of what is costly to compute about a tube: in memory, and in a folder if there is one.

Files are named by a digest of everything that they depend on, so an outdated one is never read;
they may be deleted at any time. A file is written beside its place and then renamed, so half a
file is never read either.
"""

from __future__ import annotations

import io
import os
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

Progress = Callable[[float], None]
# So many results are kept in memory; what was asked for least recently goes first. One is a tube,
# or what lies around one starting point: 0.05 to 0.1 MB, at most 0.5 with four changed keys. There
# are fewer ordinary fingerings on five instruments, and a target asks for a few of the player's.
_MOST_KEPT = 400
Arrays = dict[str, NDArray[np.generic]]


class FinderCache:
    """Keeps tables of numbers by names that say what they depend on.

    Args:
        folder: where files are kept; None keeps everything in memory only.
        progress: is called with the share done, 0 to 1, while something is computed.

    It may be shared by threads: what one is computing, another waits for.
    """

    def __init__(self, folder: Path | None = None, *, progress: Progress | None = None) -> None:
        self.folder = folder
        self.progress = progress
        self.lock = threading.RLock()
        self._kept: OrderedDict[str, object] = OrderedDict()

    def recall(self, name: str, make: Callable[[], object]) -> object:
        """Find what is kept in memory under a name, or make and keep it.

        The name must say all that the result depends on: it may be made anew at any time.
        """
        with self.lock:
            if name not in self._kept:
                self._kept[name] = make()
            self._kept.move_to_end(name)
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
            return self._kept[name]

    def recall_array(
        self, name: str, make: Callable[[], NDArray[np.float64]]
    ) -> NDArray[np.float64]:
        """Find one array of any shape in the folder by its name, or make and store it there."""
        stored = self.load_arrays(name)
        if stored is not None and "made" in stored:
            return stored["made"].astype(np.float64)
        made = make()
        self.store_arrays(name, {"made": made})
        return made

    def load_arrays(self, name: str) -> Arrays | None:
        """Read a stored table; None if there is none that can be read."""
        stored = self._read(f"{name}.npz")
        if stored is None:
            return None
        try:
            with np.load(io.BytesIO(stored), allow_pickle=False) as arrays:
                return {key: arrays[key] for key in arrays.files}
        except (ValueError, KeyError, OSError, EOFError, BadZipFile):
            return None

    def store_arrays(self, name: str, arrays: Arrays) -> None:
        """Store arrays of any shape under a name that says what they depend on."""
        if self.folder is None:
            return
        file = io.BytesIO()
        np.savez(file, allow_pickle=False, **arrays)
        self._write(f"{name}.npz", file.getvalue())

    def _read(self, name: str) -> bytes | None:
        if self.folder is None:
            return None
        try:
            return (self.folder / name).read_bytes()
        except OSError:
            return None

    def _write(self, name: str, content: bytes) -> None:
        if self.folder is None:
            return
        self.folder.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=self.folder, prefix=".making-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(temporary).replace(self.folder / name)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
