"""PostgreSQL as the engine: one writer at a time, connections that died, errors in sentences.

Writing transactions queue at one advisory lock, as SQLite's queue at the file: what hangs on each
other (fingerings that share evidence, a day and all that was played on it, one open practice, one
choice for a note) is more than one row, and locks on rows taken in the order of the data would wait
for each other in circles. Reading transactions see one moment (REPEATABLE READ), as SQLite's do.

Sources: PostgreSQL manual, "Explicit Locking", "Transaction Isolation" and "PostgreSQL Error Codes"
(appendix A); SQLAlchemy manual, "Dealing with Disconnects".
"""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import URL, Connection
from sqlalchemy.exc import DBAPIError

from analysis.plain_text import clean_text

BACKEND = "postgresql"
SNAPSHOT = "REPEATABLE READ"
LARGEST_INTEGER = 2**31 - 1  # of the type INTEGER, which the keys of rows have
_WRITERS_LOCK = 0x7175_6172_7465_7276  # one number for all that write; nothing else may use it
_LONGEST_WAIT = "5s"  # for the other writers, as long as SQLite's busy timeout
_CONNECTING_S = 10  # an address where nothing ever answers
_OUT_OF_REACH = ("08", "53", "57P")  # connection, out of resources, shutting down or starting
_DISK_FULL, _READ_ONLY = "53100", "25006"
_BUSY_CODES = {"55P03", "40P01", "40001"}  # lock not available, deadlock, serialization failure


def engine_settings(url: URL) -> dict[str, Any]:
    """Return what an engine is made with: a connection is tried before it is used again.

    Who writes must see what was kept while it waited, so its moment is that of each statement,
    whatever the server's own setting is.
    """
    connecting = {} if "connect_timeout" in url.query else {"connect_timeout": _CONNECTING_S}
    return {
        "pool_pre_ping": True,
        "connect_args": connecting,
        "isolation_level": "READ COMMITTED",
        "use_native_hstore": False,  # spares a question at each start
    }


def queue_writers(connection: Connection, *, is_patient: bool = False) -> None:
    """Wait until no other transaction writes; the lock ends with this transaction.

    With `is_patient` it waits as long as it takes, as migrating must.
    """
    if not is_patient:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{_LONGEST_WAIT}'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS_LOCK})")


def clean_parameters(
    connection: Connection, cursor: object, statement: str, parameters: object, *_: object
) -> tuple[str, object]:
    """Take out of every text what no database takes (NUL, halves of surrogate pairs).

    What is kept is clean already; this is for what is looked for. It listens to
    `before_cursor_execute` ("Core Events", SQLAlchemy manual).
    """
    del connection, cursor
    if isinstance(parameters, list):
        return statement, [_clean(each) for each in parameters]
    return statement, _clean(parameters)


def _clean(parameters: object) -> object:
    if not isinstance(parameters, Mapping):
        return parameters
    return {
        name: clean_text(value) if isinstance(value, str) else value
        for name, value in parameters.items()
    }


def is_out_of_reach(error: BaseException) -> bool:
    """Whether the server does not answer, has let go of the connection, or takes in nobody."""
    if not _is_postgresqls(error):
        return False
    code = _read_code(error)
    if code is None:  # what fails before the server answers has no code
        return isinstance(error, DBAPIError) and type(error).__name__ == "OperationalError"
    return code.startswith(_OUT_OF_REACH) and code != _DISK_FULL


def is_busy(error: BaseException) -> bool:
    """Whether other transactions were in the way for too long."""
    return _is_postgresqls(error) and _read_code(error) in _BUSY_CODES


def is_disk_full(error: BaseException) -> bool:
    """Whether the server's disk is full."""
    return _is_postgresqls(error) and _read_code(error) == _DISK_FULL


def is_too_long(error: BaseException) -> bool:
    """Whether a text or a number does not fit its column (class 22, data exception)."""
    return _is_postgresqls(error) and (_read_code(error) or "").startswith("22")


def is_read_only(error: BaseException) -> bool:
    """Whether the server takes in no changes, as a standby does."""
    return _is_postgresqls(error) and _read_code(error) == _READ_ONLY


def first_words(error: DBAPIError) -> str:
    """Return what the server or its library said, in one line."""
    lines = [line.strip() for line in str(error.orig).splitlines() if line.strip()]
    return lines[0].rstrip(".") if lines else type(error.orig).__name__


def _is_postgresqls(error: BaseException) -> bool:
    return hasattr(error.orig if isinstance(error, DBAPIError) else error, "sqlstate")


def _read_code(error: BaseException) -> str | None:
    cause = error.orig if isinstance(error, DBAPIError) else error
    code = getattr(cause, "sqlstate", None)
    return None if code is None else str(code)
