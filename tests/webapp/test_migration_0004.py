"""The migration that brings suggestions loses nothing of a notebook of before, nor back again."""

import sqlite3
from contextlib import closing
from pathlib import Path

from alembic import command

from tests.webapp.logging_rows import Filled
from webapp.db import make_engine
from webapp.migrating import alembic_config, migrate
from webapp.notebook import Notebook

BEFORE = "0003"
ROW = (
    "INSERT INTO suggestion (instrument_id, target_text, keys_text, base_reference, strategy, "
    "predicted_offset_cents, predicted_sigma_cents, method_version, state, reason_notes, "
    "fingering_id, created_at, updated_at) VALUES ({instrument}, 'D5-50c', 'T R 123 | 12-', '', "
    "'found', {offset}, {sigma}, 'finder-1', '{state}', '', {fingering}, '2026-01-01', "
    "'2026-01-01')"
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


def test_every_row_of_before_is_there_after_it_and_after_going_back(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    before = rows_of(file)
    row = ROW.format(
        instrument=rows.soprano, offset=-3.5, sigma=12.0, state="tried", fingering=rows.child
    )
    execute(file, row)
    notebook.database.close()
    downgrade(notebook)
    assert rows_of(file) == before
    migrate(notebook.database.engine)
    assert rows_of(file) == before  # the table is there again, and empty
    execute(file, row)


def test_the_database_itself_refuses_what_no_suggestion_can_be(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    facts: dict[str, object] = {
        "instrument": rows.soprano, "offset": 0, "sigma": 9, "state": "waiting", "fingering": "NULL"
    }  # fmt: skip
    wrong: list[dict[str, object]] = [
        {"state": "lost"},
        {"sigma": 0},
        {"instrument": 999},
        {"fingering": 999},
    ]
    for each in wrong:
        try:
            execute(file, ROW.format_map({**facts, **each}))
        except sqlite3.IntegrityError:
            continue
        raise AssertionError(f"{each} was taken in")
    execute(file, ROW.format_map(facts))


def test_a_suggestion_goes_with_its_instrument_and_outlives_its_fingering(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = notebook.folder / "notebook.sqlite3"
    execute(
        file,
        ROW.format(
            instrument=rows.soprano, offset=0, sigma=9, state="tried", fingering=rows.silent
        ),
    )
    execute(file, f"DELETE FROM fingering WHERE id = {rows.silent}")
    with closing(sqlite3.connect(file)) as connection:
        found = connection.execute("SELECT fingering_id, state FROM suggestion").fetchall()
    assert found == [(None, "tried")]
    execute(file, f"DELETE FROM instrument WHERE id = {rows.soprano}")
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT count(*) FROM suggestion").fetchone() == (0,)
