"""Look at a notebook from outside: its folder byte for byte, its queries and its transactions."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import event

from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.own_folder import CACHE_FOLDER


def files_of(folder: Path) -> dict[str, bytes]:
    """Return the bytes of every file of a folder."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def snapshot(notebook: Notebook) -> dict[str, bytes]:
    """Return the bytes of the database and of every clip.

    The log, the key, the lock and what is only kept so as not to be computed again are not data.
    """
    no_data = (".log", ".key", ".lock")
    return {
        name: content
        for name, content in files_of(notebook.folder).items()
        if Path(name).suffix not in no_data and Path(name).parts[0] != CACHE_FOLDER
    }


@contextmanager
def counted_queries(notebook: Notebook) -> Iterator[list[str]]:
    """Collect the statements that reach the database."""
    statements: list[str] = []

    def note(*call: object) -> None:
        statements.append(str(call[2]))  # connection, cursor, statement, ...

    event.listen(notebook.database.engine, "before_cursor_execute", note)
    yield statements
    event.remove(notebook.database.engine, "before_cursor_execute", note)


@contextmanager
def counted_transactions(notebook: Notebook) -> Iterator[list[str]]:
    """Collect the transactions that are begun."""
    begun: list[str] = []

    def note(*_: object) -> None:
        begun.append("BEGIN")

    event.listen(notebook.database.engine, "begin", note)
    yield begun
    event.remove(notebook.database.engine, "begin", note)
