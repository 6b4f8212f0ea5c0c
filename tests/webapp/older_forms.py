"""A notebook in the form that an earlier version left it in, and every value in its tables."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command

from webapp.notebook.store.db import make_engine
from webapp.notebook.store.migrating import alembic_config
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.schema import current_revision

EARLIER = (
    "0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010", "0011", "0013",
    "0014", "0015", "0017", "0018", "0019", "0022", "0023", "0024", "0025",
)  # fmt: skip

Rows = list[dict[str, object]]


def file_of(notebook: Notebook) -> Path:
    """Where the database lies."""
    return notebook.folder / "notebook.sqlite3"


def go_back(notebook: Notebook, revision: str) -> None:
    """Bring the database to an earlier revision."""
    engine = make_engine(str(notebook.database.engine.url))
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            # As migrate() does: rebuilding a parent table with keys on deletes its children.
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        command.downgrade(alembic_config(connection), revision)
        connection.commit()
    assert current_revision(engine) == revision
    engine.dispose()


def keep_forms(notebook: Notebook, folder: Path) -> dict[str, Path]:
    """Bring a notebook back form by form; keep its database at each, by revision."""
    kept = {revision: folder / f"{revision}.sqlite3" for revision in reversed(EARLIER)}
    for revision, file in kept.items():
        go_back(notebook, revision)
        shutil.copy(file_of(notebook), file)
    return kept


def take_form(notebook: Notebook, forms: Path, revision: str) -> None:
    """Put the database of an earlier form, kept before, in the place of a notebook's own."""
    notebook.database.close()
    shutil.copy(forms / f"{revision}.sqlite3", file_of(notebook))


def execute(file: Path, sql: str) -> None:
    """Change the database past the program, with foreign keys on."""
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute(sql)
        connection.commit()


def as_then(rows: Rows, then: Rows) -> Rows:
    """Rows with the columns that they had then; later ones came and went."""
    columns = set(then[0]) if then else set()
    return [{name: each[name] for name in each if name in columns} for each in rows]


def all_as_then(full: dict[str, Rows], then: dict[str, Rows]) -> dict[str, Rows]:
    """Tables with the columns of an earlier form; each of them must still be there."""
    return {name: as_then(full[name], rows) for name, rows in then.items()}


def tables_of(file: Path) -> dict[str, Rows]:
    """Every row of every table that is the notebook's, by the name of the table."""
    with closing(sqlite3.connect(file)) as connection:
        connection.row_factory = sqlite3.Row
        found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        # the log of changes goes on by chance, and nothing in it is the player's
        names = [name for (name,) in found if name not in ("alembic_version", "row_change")]
        return {
            name: [dict(row) for row in connection.execute(f"SELECT * FROM {name} ORDER BY rowid")]
            for name in names
        }
