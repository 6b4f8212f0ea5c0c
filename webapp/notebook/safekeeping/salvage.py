"""Save what can be read of a damaged database into a sound one.

Each table is read without its indexes, from its first row forwards and from its last row backwards,
as far as the damage lets it; rows that would point nowhere are left out. The new database has the
same tables, and is sound.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from webapp.notebook.store.errors import BackupRefused

_MOST_ROUNDS = 20


@dataclass(frozen=True, slots=True)
class Salvage:
    """How many rows were saved of each table, and in which tables some could not be read."""

    rows: dict[str, int]
    torn: tuple[str, ...]
    dropped: int


def salvage_database(damaged: Path, target: Path) -> Salvage:
    """Copy what can be read of a database into a new file.

    Args:
        damaged: the file; it is only read.
        target: where the new one goes; nothing may be there.

    Raises:
        BackupRefused: not even its list of tables can be read.
    """
    address = f"{damaged.resolve().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(address, uri=True)) as source,
        closing(sqlite3.connect(target)) as copy,
    ):
        source.text_factory = _decode
        statements = _read_schema(source)
        for _, sql in statements:
            copy.execute(sql)
        rows, torn = {}, []
        for name, sql in statements:
            if sql.upper().startswith("CREATE TABLE"):
                rows[name], is_whole = _copy_table(source, copy, name)
                if not is_whole:
                    torn.append(name)
        dropped = _drop_dangling(copy)
        copy.commit()
    return Salvage(rows, tuple(torn), dropped)


def _decode(text: bytes) -> str:
    return text.decode("utf-8", "replace")


def _read_schema(source: sqlite3.Connection) -> list[tuple[str, str]]:
    query = (
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND type IN ('table', 'index') "
        "AND name NOT LIKE 'sqlite_%' ORDER BY type DESC"
    )
    try:
        return [(str(name), str(sql)) for name, sql in source.execute(query)]
    except sqlite3.DatabaseError as error:
        raise BackupRefused(
            f"Nothing of this database can be read ({error}). Put an earlier backup back with "
            "`quartervent restore FILE`; the recordings in the folder clips are whole."
        ) from error


def _copy_table(
    source: sqlite3.Connection, copy: sqlite3.Connection, name: str
) -> tuple[int, bool]:
    count, is_whole = 0, True
    for order in ("ASC", "DESC"):
        try:
            for row in _read_rows(source, name, order):
                marks = ", ".join("?" * len(row))
                insert = f'INSERT OR IGNORE INTO "{name}" VALUES ({marks})'
                count += copy.execute(insert, row).rowcount
        except sqlite3.DatabaseError:
            is_whole = False
        if is_whole:
            break
    return count, is_whole


def _read_rows(source: sqlite3.Connection, name: str, order: str) -> Iterator[tuple[object, ...]]:
    yield from source.execute(f'SELECT * FROM "{name}" NOT INDEXED ORDER BY rowid {order}')


def _drop_dangling(copy: sqlite3.Connection) -> int:
    """Leave out rows that point nowhere, until none does."""
    dropped = 0
    for _ in range(_MOST_ROUNDS):
        found = copy.execute("PRAGMA foreign_key_check").fetchall()
        if not found:
            break
        for table, rowid, *_ in set(found):
            dropped += copy.execute(f'DELETE FROM "{table}" WHERE rowid = ?', (rowid,)).rowcount
    return dropped
