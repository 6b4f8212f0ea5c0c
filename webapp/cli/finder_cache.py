"""The finder's cache for commands: on disk, the one that a served notebook uses."""

import os

from analysis.finder import FinderCache
from webapp.notebook.store.own_folder import CACHE_FOLDER, default_folder


def open_finder_cache() -> FinderCache:
    """Open the cache on disk; where nothing can be written, one in memory."""
    folder = default_folder() / CACHE_FOLDER
    there = next(one for one in (folder, *folder.parents) if one.exists())
    return FinderCache(folder if os.access(there, os.W_OK) else None)
