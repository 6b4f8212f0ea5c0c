"""The migration that brings practice lists loses nothing of a notebook, nor does going back."""

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command

from tests.webapp.logging_rows import Filled
from webapp.db import make_engine
from webapp.migrating import alembic_config, migrate
from webapp.notebook import Notebook

BEFORE = "0004"
ROW = (
    "INSERT INTO practice_target (practice_id, position, target_text, fingering_id, suggestion_id, "
    "state, note, created_at, updated_at) VALUES ({practice}, {position}, 'D5-50c', {fingering}, "
    "{suggestion}, '{state}', '', '2026-01-01', '2026-01-01')"
)


def rows_of(file: Path) -> list[str]:
    """Every row of every table but the version, as SQL."""
    with closing(sqlite3.connect(file)) as connection:
        lines = connection.iterdump()
        return [each for each in lines if each.startswith("INSERT") and "alembic" not in each]


def downgrade(notebook: Notebook) -> None:
    """Take the notebook back to the version before."""
    engine = make_engine(str(notebook.database.engine.url))
    with engine.connect() as connection:
        command.downgrade(alembic_config(connection), BEFORE)
        connection.commit()
    engine.dispose()


def execute(file: Path, sql: str) -> None:
    """Change the database past the program, with foreign keys on."""
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute(sql)
        connection.commit()


def facts_of(rows: Filled, **changes: object) -> dict[str, object]:
    """A row that is in order, unless told otherwise."""
    return {
        "practice": rows.practice, "position": 1, "fingering": rows.on_bass, "suggestion": "NULL",
        "state": "open", **changes,
    }  # fmt: skip


def test_every_row_of_before_is_there_after_it_and_after_going_back(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    before = rows_of(file)
    row = ROW.format_map(facts_of(rows))
    execute(file, row)
    notebook.database.close()
    downgrade(notebook)
    assert rows_of(file) == before
    migrate(notebook.database.engine)
    assert rows_of(file) == before  # the table is there again, and empty
    execute(file, row)


def test_the_database_itself_refuses_what_no_target_can_be(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    wrong: list[dict[str, object]] = [
        {"state": "lost"},
        {"position": "NULL"},
        {"practice": 999},
        {"fingering": 999},
        {"suggestion": 999},
    ]
    for each in wrong:
        try:
            execute(file, ROW.format_map(facts_of(rows, **each)))
        except sqlite3.IntegrityError:
            continue
        raise AssertionError(f"{each} was taken in")
    execute(file, ROW.format_map(facts_of(rows)))


def test_a_target_goes_with_its_session_and_outlives_its_fingering(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    execute(file, ROW.format_map(facts_of(rows)))
    execute(file, f"DELETE FROM fingering WHERE id = {rows.on_bass}")
    with closing(sqlite3.connect(file)) as connection:
        found = connection.execute("SELECT fingering_id, state FROM practice_target").fetchall()
    assert found == [(None, "open")]
    execute(file, f"DELETE FROM practice WHERE id = {rows.practice}")
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT count(*) FROM practice_target").fetchone() == (0,)
