"""Leftovers of killed work: folders that a backup or a restore was building when it was stopped.

An archive of another player that waited for the player's word is one too.

Called while the notebook's folder is held, so that no restore can be at work. A backup may be,
beside a server; it holds a lock in its own folder, which ends with it, however that ends.
"""

import shutil
from pathlib import Path

from filelock import FileLock, Timeout

WORK_PREFIX = "backup-"
WORK_LOCK = "at-work.lock"
UNPACKING_FOLDER = "restoring"
ARRIVING_FOLDER = "arriving"
"""Where an archive of another player waits until the player says that it is kept."""


def clear_leftovers(folder: Path) -> int:
    """Remove what killed work left in a notebook's folder; return how many folders that were."""
    found = [each for each in folder.glob(f"{WORK_PREFIX}*") if each.is_dir()]
    left = [each for each in found if _is_abandoned(each)]
    left += [
        each for each in (folder / UNPACKING_FOLDER, folder / ARRIVING_FOLDER) if each.is_dir()
    ]
    for each in left:
        shutil.rmtree(each, ignore_errors=True)
    return len(left)


def _is_abandoned(folder: Path) -> bool:
    try:
        with FileLock(folder / WORK_LOCK, timeout=0):
            return True
    except Timeout:
        return False
