"""Migration 0006 (choices): what the database refuses, and what goes with what."""

import sqlite3
from contextlib import closing

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

WORD = (
    "INSERT INTO choice (instrument_id, written_exact, fingering_id, role, circumstance, reason, "
    "created_at) VALUES ({instrument}, '{note}', {fingering}, '{role}', '{circumstance}', '', "
    "'2026-01-01')"
)
NEW_COLUMNS = {"ease", "spread_cents", "failed_take_count"}
TOLERANCE = "INSERT INTO note_tolerance VALUES ({instrument}, '7350', {cents})"


def word(rows: Filled, **changes: object) -> str:
    """A word that is in order, unless told otherwise."""
    facts: dict[str, object] = {
        "instrument": rows.soprano, "note": "7350", "fingering": rows.base, "role": "mine",
        "circumstance": "always", **changes,
    }  # fmt: skip
    return WORD.format_map(facts)


def test_the_database_itself_refuses_what_no_word_can_be(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    wrong: list[dict[str, object]] = [
        {"role": "favourite"},
        {"circumstance": "sometimes"},
        {"instrument": 999},
        {"fingering": 999},
    ]
    for each in wrong:
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, word(rows, **each))
    execute(file, word(rows))


def test_one_fingering_is_mine_for_a_note_and_circumstance(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    execute(file, word(rows))
    for twice in (
        word(rows, fingering=rows.child),  # another one that is mine
        word(rows, role="rejected"),  # another word on the same one
    ):
        with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
            execute(file, twice)
    for beside in (
        word(rows, fingering=rows.child, circumstance="soft"),
        word(rows, fingering=rows.grandchild, role="rejected"),
        word(rows, fingering=rows.half_hole, role="alternate"),
        word(rows, note="36756314/5000"),
        word(rows, instrument=rows.bass, fingering=rows.on_bass),
    ):
        execute(file, beside)
    assert len(tables_of(file)["choice"]) == 6


def test_a_note_has_one_tolerance_of_its_own_and_it_is_above_nothing(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    for instrument, cents in ((rows.soprano, 0), (rows.soprano, -5), (999, 5)):
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, TOLERANCE.format(instrument=instrument, cents=cents))
    execute(file, TOLERANCE.format(instrument=rows.soprano, cents=5))
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        execute(file, TOLERANCE.format(instrument=rows.soprano, cents=20))
    execute(file, TOLERANCE.format(instrument=rows.bass, cents=20))


def test_a_word_goes_with_its_fingering_and_all_goes_with_the_instrument(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    execute(file, word(rows, fingering=rows.silent))
    execute(file, word(rows, fingering=rows.child, circumstance="loud"))
    execute(file, TOLERANCE.format(instrument=rows.soprano, cents=5))
    execute(file, f"DELETE FROM fingering WHERE id = {rows.silent}")
    assert [row["fingering_id"] for row in tables_of(file)["choice"]] == [rows.child]
    execute(file, f"DELETE FROM instrument WHERE id = {rows.soprano}")
    assert (tables_of(file)["choice"], tables_of(file)["note_tolerance"]) == ([], [])


def test_down_again_the_rows_are_as_they_were(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    go_back(notebook, "0006")
    full = tables_of(file)
    go_back(notebook, "0005")
    old = tables_of(file)
    assert old.keys() == full.keys() - {"choice", "note_tolerance", "upkeep"}
    for name, rows in old.items():
        new = NEW_COLUMNS if name == "fingering" else set()
        assert rows == [
            {each: value for each, value in row.items() if each not in new} for row in full[name]
        ]


def test_the_new_columns_wait_for_the_upkeep(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    go_back(notebook, "0005")
    migrate(notebook.database.engine)
    with closing(sqlite3.connect(file_of(notebook))) as connection:
        query = "SELECT DISTINCT ease, spread_cents, failed_take_count FROM fingering"
        assert connection.execute(query).fetchall() == [(None, None, 0)]
        assert connection.execute("SELECT count(*) FROM upkeep").fetchone() == (0,)
