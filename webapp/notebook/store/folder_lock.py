"""Lock on a notebook's folder: one server, or one command that changes files, at a time.

The lock is the operating system's on a file, so it ends with the process that holds it, however
that ends. Who holds it stands in a file beside it, for the sentence that names the other one.
Commands of one transaction need no lock; the database has its own.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from webapp.notebook.store.errors import FolderInUse

LOCK_FILE = "in-use.lock"
HOLDER_FILE = "in-use.json"


class FolderLock:
    """A held lock; `tell` says what others are told about its holder."""

    def __init__(self, folder: Path) -> None:
        self._holder = folder / HOLDER_FILE

    def tell(self, *, what: str, address: str = "") -> None:
        """Say what holds the folder, and at which address it answers."""
        self._holder.write_text(json.dumps({"what": what, "address": address}), "utf-8")


@contextmanager
def hold_folder(folder: Path, what: str) -> Iterator[FolderLock]:
    """Hold a notebook's folder until the block ends.

    Args:
        folder: the notebook's; it is made if needed.
        what: which command holds it, such as "serve".

    Raises:
        FolderInUse: another process holds it; the sentence names it.
    """
    folder.mkdir(parents=True, exist_ok=True)
    lock = FileLock(folder / LOCK_FILE, timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout as error:
        raise FolderInUse(_describe_holder(folder)) from error
    try:
        held = FolderLock(folder)
        held.tell(what=what)
        yield held
    finally:
        (folder / HOLDER_FILE).unlink(missing_ok=True)
        lock.release()


def find_holder(folder: Path) -> tuple[str, str]:
    """Return which command holds a folder, and at which address it answers; empty if unknown."""
    try:
        holder = json.loads((folder / HOLDER_FILE).read_text("utf-8"))
        return str(holder.get("what", "")), str(holder.get("address", ""))
    except (OSError, ValueError, AttributeError):
        return "", ""  # it is about to be written, or was never


def _describe_holder(folder: Path) -> str:
    what, address = find_holder(folder)
    if address:
        return (
            f"This notebook is open already at {address}. Go on there, or stop it first with "
            "Ctrl-C in its window."
        )
    doing = f"`quartervent {what}` is" if what else "Another command is"
    return f"{doing} at work on this notebook. Wait until it is done, and try again."
