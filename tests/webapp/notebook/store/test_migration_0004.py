"""Migration 0004 (suggestions): what the database refuses, and what goes with what."""

import sqlite3
from contextlib import closing

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of
from webapp.notebook.store.notebook import Notebook

ROW = (
    "INSERT INTO suggestion (instrument_id, target_text, keys_text, base_reference, strategy, "
    "predicted_offset_cents, predicted_sigma_cents, method_version, state, reason_notes, "
    "fingering_id, created_at, updated_at) VALUES ({instrument}, 'D5-50c', 'T R 123 | 12-', '', "
    "'found', {offset}, {sigma}, 'finder-1', '{state}', '', {fingering}, '2026-01-01', "
    "'2026-01-01')"
)


def test_the_database_itself_refuses_what_no_suggestion_can_be(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
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
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, ROW.format_map({**facts, **each}))
    execute(file, ROW.format_map(facts))


def test_a_suggestion_goes_with_its_instrument_and_outlives_its_fingering(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
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
