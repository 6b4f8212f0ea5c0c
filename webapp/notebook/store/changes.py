"""Log of changes, and values kept in memory that follow it.

Every transaction that writes says in the table `row_change` which rows it wrote: what the object
mapper flushes row by row, a statement for many rows with its table alone. A value that was read at
a line of the log is brought up to date by reading the rows of later lines anew, whichever process
wrote them. Where the line is not in the log any more (the log is cut, a backup was put back), all
is read anew. The stamp of a line is of chance, so a line is never taken for that of another
history.

Listens to `after_flush` of the writing session ("ORM Events") and to `before_execute` of the engine
("Core Events", SQLAlchemy manual).
"""

import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import (
    Connection,
    Delete,
    Engine,
    Executable,
    Insert,
    Table,
    Update,
    delete,
    event,
    func,
    insert,
    select,
)
from sqlalchemy.orm import Session, UOWTransaction

from webapp.notebook.store.rows import Claim, Fingering, Instrument, RowChange, Upkeep

LINES_KEPT = 4000
_CUT_EVERY = 256
# beyond this many rows of a table in one go the table is named alone, and read anew
_ROWS_NAMED = 200
VALUES_KEPT = 16
_KEPT = "quartervent_kept"
# what no value is made from
_UNTOLD = {RowChange.__tablename__, Claim.__tablename__, Upkeep.__tablename__, "alembic_version"}

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the log."""

    number: int
    stamp: str


class KeptValues:
    """Values in memory, each with the line of the log up to which it follows the database."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._values: OrderedDict[Hashable, tuple[Line, Any]] = OrderedDict()

    def find(self, name: Hashable) -> tuple[Line, Any] | None:
        """Return a value and its line, or None."""
        with self._lock:
            if name in self._values:
                self._values.move_to_end(name)
            return self._values.get(name)

    def keep(self, name: Hashable, line: Line, value: object) -> None:
        """Keep a value in place of an earlier one; the one that was not used longest goes."""
        with self._lock:
            self._values[name] = line, value
            self._values.move_to_end(name)
            while len(self._values) > VALUES_KEPT:
                self._values.popitem(last=False)

    def lend_to(self, session: Session) -> Session:
        """Let a session that only reads use the values."""
        session.info[_KEPT] = self
        return session


class WritingSession(Session):
    """A session whose flushes are told to the log row by row."""

    def flush(self, objects: Sequence[Any] | None = None) -> None:
        """Write what is pending; what this thread executes meanwhile is told when it is done."""
        is_inner = _in_flush()
        _HERE.is_flushing = True
        try:
            super().flush(objects)
        finally:
            _HERE.is_flushing = is_inner


_HERE = threading.local()


def _in_flush() -> bool:
    return getattr(_HERE, "is_flushing", False)


def watch(engine: Engine) -> None:
    """See that what an engine writes is told to the log."""
    event.listen(engine, "before_execute", _note_statement)


def find_line(session: Session) -> Line | None:
    """Return the last line of the log, by which the whole state of the notebook is known."""
    row = session.execute(
        select(RowChange.id, RowChange.stamp).order_by(RowChange.id.desc()).limit(1)
    )
    found = row.first()
    return None if found is None else Line(*found)


def follow_fingerings(
    session: Session,
    name: Hashable,
    read: Callable[[], Value],
    renew: Callable[[Value, Collection[int]], Value],
) -> Value:
    """Return a value made of nothing but rows of fingerings; what is kept of it is brought up.

    Args:
        session: a transaction; in one that writes nothing is kept.
        name: of the value; everything that it depends on beside the rows is part of it.
        read: makes the value.
        renew: makes it from an earlier one, with the numbers of the fingerings that were written,
            some of which may be gone.
    """
    kept: KeptValues | None = session.info.get(_KEPT)
    if kept is None:
        return read()
    found = kept.find(name)
    news = None if found is None else _read_news(session, found[0])
    if found is None or news is None:
        line, value = find_line(session), read()
    elif news.written:
        line, value = news.line, renew(found[1], news.written)
    else:
        line, value = news.line, found[1]
    if line is not None:
        kept.keep(name, line, value)
    return value


@dataclass(frozen=True, slots=True)
class _News:
    """The last line of the log, and the numbers of the fingerings that were written."""

    line: Line
    written: set[int]


def _read_news(session: Session, since: Line) -> _News | None:
    """Return what was written since a line; None where not all of it is told."""
    lines = session.execute(
        select(RowChange.id, RowChange.stamp, RowChange.table_name, RowChange.row_id)
        .where(RowChange.id >= since.number)
        .order_by(RowChange.id)
    ).all()
    if not lines or Line(lines[0][0], lines[0][1]) != since:
        return None
    numbers = [row for _, _, table, row in lines[1:] if table == Fingering.__tablename__]
    if None in numbers:
        return None
    last = Line(lines[-1][0], lines[-1][1])
    return _News(last, {number for number in numbers if number is not None})


@event.listens_for(WritingSession, "after_flush")
def _note_flush(session: Session, context: UOWTransaction) -> None:
    del context
    tables: dict[str, set[int]] = {}
    for row in (*session.new, *session.dirty, *session.deleted):
        numbers = tables.setdefault(row.__tablename__, set())
        if isinstance(row, Fingering):
            numbers.add(row.id)
    for table, numbers in tables.items():
        _note(session.connection(), table, numbers if len(numbers) <= _ROWS_NAMED else ())
    if any(isinstance(row, Instrument) for row in session.deleted):
        _note(session.connection(), Fingering.__tablename__, ())


def _note_statement(
    connection: Connection,
    statement: Executable,
    multiparams: object,
    params: object,
    execution_options: object,
) -> None:
    """Note a statement for many rows, with what is deleted along with them."""
    del multiparams, params, execution_options
    if _in_flush() or not isinstance(statement, (Insert, Update, Delete)):
        return
    table = statement.table
    if isinstance(table, Table):
        _note(connection, table.name, ())
        if table.name == Instrument.__tablename__ and isinstance(statement, Delete):
            _note(connection, Fingering.__tablename__, ())


def _note(connection: Connection, table: str, numbers: Collection[int]) -> None:
    if table in _UNTOLD:
        return
    named: list[int | None] = [*sorted(numbers)] or [None]
    lines = [
        {"stamp": secrets.token_hex(8), "table_name": table, "row_id": number} for number in named
    ]
    connection.execute(insert(RowChange), lines)
    newest = connection.execute(select(func.max(RowChange.id))).scalar_one()
    if newest % _CUT_EVERY < len(lines):
        connection.execute(delete(RowChange).where(RowChange.id <= newest - LINES_KEPT))
