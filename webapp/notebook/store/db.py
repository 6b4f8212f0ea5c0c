"""The engine, its settings and its transactions.

A service reads inside `Database.reading()` and writes inside `Database.writing()`. On SQLite a
writing transaction takes the write lock at its start (BEGIN IMMEDIATE), so two of them wait for
each other instead of one failing half way; and BEGIN is emitted by us, because the driver would
leave CREATE TABLE outside the transaction (SQLAlchemy manual, "SQLite: serializable isolation,
savepoints, transactional DDL"). On PostgreSQL writing transactions wait for each other at one
lock (`postgresql`). What is written is told to a log (`changes`).
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, Pool, create_engine, event, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from webapp.notebook.store import postgresql
from webapp.notebook.store.changes import KeptValues, WritingSession, watch

_WRITES = "quartervent_writes"
# Damaged, no database at all, or one without the tables of a notebook (SQLite, "Result Codes").
_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR}
_PRIMARY = 0xFF  # the part of a code that extended codes share


def file_address(path: Path) -> URL:
    """Return the address of an SQLite file; any character may stand in its path."""
    return URL.create("sqlite", database=str(path))


def make_engine(
    url: str | URL, *, poolclass: type[Pool] | None = None, is_thrown_away: bool = False
) -> Engine:
    """Make an engine; on SQLite with foreign keys on, full sync and a busy timeout.

    A file that is thrown away need not outlive a loss of power: `is_thrown_away` waits for no disk.
    """
    url = make_url(url)
    if url.get_backend_name() == postgresql.BACKEND:
        engine = create_engine(url, poolclass=poolclass, **postgresql.engine_settings(url))
        event.listen(engine, "begin", _begin_postgresql)
        event.listen(engine, "before_cursor_execute", postgresql.clean_parameters, retval=True)
        return engine
    engine = create_engine(url, poolclass=poolclass)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_thrown_away if is_thrown_away else _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


def _set_up_sqlite(connection: DBAPIConnection, record: object) -> None:
    del record
    connection.isolation_level = None
    cursor = connection.cursor()
    for setting in ("foreign_keys = ON", "synchronous = FULL", "busy_timeout = 5000"):
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _set_up_thrown_away(connection: DBAPIConnection, record: object) -> None:
    _set_up_sqlite(connection, record)
    cursor = connection.cursor()
    cursor.execute("PRAGMA synchronous = OFF")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if connection.get_execution_options().get(_WRITES, False):
        postgresql.queue_writers(connection)


def tells_of_damage(error: BaseException) -> bool:
    """Whether SQLite refuses a file for what is in it, not because it is locked or out of reach."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    code = getattr(cause, "sqlite_errorcode", None)
    return code is not None and code & _PRIMARY in _DAMAGE


class Database:
    """The notebook's database: an engine and the two kinds of transaction."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.kept = KeptValues()
        self._writing_engine = engine.execution_options(**{_WRITES: True})
        watch(self._writing_engine)
        is_postgresql = engine.dialect.name == postgresql.BACKEND
        self._reading_engine = (
            engine.execution_options(isolation_level=postgresql.SNAPSHOT)
            if is_postgresql
            else engine
        )

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Open a session that is rolled back at its end; what it loaded stays readable."""
        with Session(self._reading_engine, expire_on_commit=False) as session:
            yield self.kept.lend_to(session)

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Open a session that commits at its end, or rolls back if anything was raised."""
        opened = WritingSession(self._writing_engine, expire_on_commit=False)
        with opened as session, session.begin():
            yield session

    def close(self) -> None:
        """Close every pooled connection."""
        self.engine.dispose()
