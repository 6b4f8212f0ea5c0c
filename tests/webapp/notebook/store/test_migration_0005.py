"""Migration 0005 (practice lists): what the database refuses, and what goes with what."""

import sqlite3
from contextlib import closing

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of
from webapp.notebook.store.notebook import Notebook

ROW = (
    "INSERT INTO practice_target (practice_id, position, target_text, fingering_id, suggestion_id, "
    "state, note, created_at, updated_at) VALUES ({practice}, {position}, 'D5-50c', {fingering}, "
    "{suggestion}, '{state}', '', '2026-01-01', '2026-01-01')"
)


def facts_of(rows: Filled, **changes: object) -> dict[str, object]:
    """A row that is in order, unless told otherwise."""
    return {
        "practice": rows.practice, "position": 1, "fingering": rows.on_bass, "suggestion": "NULL",
        "state": "open", **changes,
    }  # fmt: skip


def test_the_database_itself_refuses_what_no_target_can_be(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    wrong: list[dict[str, object]] = [
        {"state": "lost"},
        {"position": "NULL"},
        {"practice": 999},
        {"fingering": 999},
        {"suggestion": 999},
    ]
    for each in wrong:
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, ROW.format_map(facts_of(rows, **each)))
    execute(file, ROW.format_map(facts_of(rows)))


def test_a_target_goes_with_its_practice_and_outlives_its_fingering(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    execute(file, ROW.format_map(facts_of(rows)))
    execute(file, f"DELETE FROM fingering WHERE id = {rows.on_bass}")
    with closing(sqlite3.connect(file)) as connection:
        found = connection.execute("SELECT fingering_id, state FROM practice_target").fetchall()
    assert found == [(None, "open")]
    execute(file, f"DELETE FROM practice WHERE id = {rows.practice}")
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT count(*) FROM practice_target").fetchone() == (0,)
