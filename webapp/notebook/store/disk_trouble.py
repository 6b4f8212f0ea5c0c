"""Trouble with the disk or the database server: full, locked, not to be written, out of reach.

What the operating system and the engines raise says neither what is full nor what to do; here it is
one sentence. Sources: errno (POSIX.1) and "Result and Error Codes" (SQLite manual): SQLITE_FULL,
SQLITE_BUSY, SQLITE_READONLY, SQLITE_IOERR; for PostgreSQL see `postgresql`.
"""

import errno
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from webapp.notebook.store import postgresql

FULL_STATUS, UNAVAILABLE_STATUS, REFUSED_STATUS = 507, 503, 422
_PRIMARY = 0xFF  # the part of an SQLite code that extended codes share
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG}
_NOT_WRITABLE = {errno.EROFS, errno.EACCES, errno.EPERM}
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


@dataclass(frozen=True, slots=True)
class DiskTrouble:
    """What a page answers with: a status and a sentence."""

    status: int
    message: str


def find_disk_trouble(error: BaseException, folder: Path) -> DiskTrouble | None:
    """Tell whether an error is the disk's, and what to do about it; None for any other error.

    Args:
        error: what was raised, perhaps wrapped by SQLAlchemy.
        folder: the notebook's.
    """
    code = _find_sqlite_code(error)
    number = error.errno if isinstance(error, OSError) else None
    if code == sqlite3.SQLITE_FULL or number in _FULL:
        return DiskTrouble(FULL_STATUS, _describe_full(folder))
    if code in _BUSY or postgresql.is_busy(error):
        return DiskTrouble(
            UNAVAILABLE_STATUS,
            "The notebook is being written by something else, so nothing was kept this time. Try "
            "again in a moment; what you typed or recorded is kept in the browser.",
        )
    if code == sqlite3.SQLITE_READONLY or number in _NOT_WRITABLE:
        return DiskTrouble(
            UNAVAILABLE_STATUS,
            f"The notebook's folder {folder} cannot be written to, so nothing was kept. Give "
            "yourself the right to write there, or move the folder; what you typed or recorded is "
            "kept in the browser.",
        )
    if code == sqlite3.SQLITE_IOERR:
        return DiskTrouble(
            UNAVAILABLE_STATUS,
            "The disk that the notebook lies on does not answer as it should, so nothing was "
            "kept. Make a copy of the folder on another disk; what you typed or recorded is kept "
            "in the browser.",
        )
    return _find_server_trouble(error)


def _find_server_trouble(error: BaseException) -> DiskTrouble | None:
    if postgresql.is_disk_full(error):
        return DiskTrouble(
            FULL_STATUS,
            "The disk of the database server is full, so nothing was kept. Make room there and try "
            "again; what you typed or recorded is kept in the browser.",
        )
    if postgresql.is_too_long(error):
        return DiskTrouble(
            REFUSED_STATUS,
            "Something that was entered is longer or larger than the database can keep, so nothing "
            "was kept. Go back and shorten it.",
        )
    if postgresql.is_read_only(error):
        return DiskTrouble(
            UNAVAILABLE_STATUS,
            "The database server takes in no changes, so nothing was kept. Let it, or name another "
            "one; what you typed or recorded is kept in the browser.",
        )
    if postgresql.is_out_of_reach(error):
        return DiskTrouble(
            UNAVAILABLE_STATUS,
            "The database server does not answer. It may be starting again: try once more in a "
            "moment; what you typed or recorded is kept in the browser.",
        )
    return None


def _find_sqlite_code(error: BaseException) -> int | None:
    cause = error.orig if isinstance(error, DBAPIError) else error
    code = getattr(cause, "sqlite_errorcode", None)
    return None if code is None else code & _PRIMARY


def _describe_full(folder: Path) -> str:
    try:
        free = f"{shutil.disk_usage(folder).free / 1e6:,.0f} MB are left"
    except OSError:
        free = "no room is left"
    return (
        f"The disk that the notebook lies on is full ({free}), so nothing was kept. Make room "
        "there, some 100 MB, and try again; what you typed or recorded is kept in the browser."
    )
