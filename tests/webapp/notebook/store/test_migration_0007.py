"""Migration 0007 (what counts): takes know their instrument, a day goes on with its one note."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, go_back, tables_of
from webapp.notebook.opening import open_notebook
from webapp.notebook.practice.practice import open_practice
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW_COLUMNS = {
    "take": {"instrument_id", "meant_text", "is_watched", "is_confirmed", "standing"},
    "measurement": {"is_spoilt"},
    "fingering": {"speaks_softly", "set_aside_count", "is_watched"},
    "practice": {"reed", "barrel_pull_mm"},
    "tuning_note": {"recorded_at", "is_left_out"},
    "preferences": {"version"},
}
SECOND_NOTE = (
    "INSERT INTO tuning_note (practice_id, written_text, clip_name, original_name, f0_hz, "
    "f0_uncertainty_cents, created_at) SELECT practice_id, 'G3', 'second.wav', '', 175.0, 0.1, "
    "'2026-01-01' FROM tuning_note"
)


def ask(file: Path, query: str) -> list[tuple[object, ...]]:
    """Ask the database past the program."""
    with closing(sqlite3.connect(file)) as connection:
        return connection.execute(query).fetchall()


def test_down_again_the_rows_are_as_they_were(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    execute(file, "DELETE FROM take WHERE fingering_id IS NULL")  # earlier forms have no such take
    execute(file, "DELETE FROM upkeep WHERE name = 'evidence'")  # and judge takes otherwise
    go_back(notebook, "0007")
    full = tables_of(file)
    go_back(notebook, "0006")
    old = tables_of(file)
    assert old.keys() == full.keys()
    for name, rows in old.items():
        new = NEW_COLUMNS.get(name, set())
        assert rows == [
            {each: value for each, value in row.items() if each not in new} for row in full[name]
        ]


def test_every_take_belongs_to_the_instrument_of_its_fingering(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    go_back(notebook, "0006")
    migrate(notebook.database.engine)
    query = (
        "SELECT count(*), sum(take.instrument_id = fingering.instrument_id) "
        "FROM take JOIN fingering ON fingering.id = take.fingering_id"
    )
    ((count, same),) = ask(file, query)
    assert count == same != 0
    facts = "SELECT DISTINCT meant_text, is_watched, is_confirmed, standing FROM take"
    assert ask(file, facts) == [(None, 0, 0, "counts")]


def test_of_several_tuning_notes_the_newest_goes_on_as_the_only_one(
    filled: tuple[Notebook, Filled],
) -> None:
    notebook, rows = filled
    file = file_of(notebook)
    go_back(notebook, "0006")
    execute(file, SECOND_NOTE)
    notebook.close()
    with closing(open_notebook(notebook.folder)) as again:
        page = open_practice(again, rows.practice)
    assert page.reference is not None
    assert [note.written.canonical for note in page.reference.notes] == ["G3"]
    assert [note.written.canonical for note in page.left_out] == ["B3"]
    assert (page.practice.reed, page.practice.barrel_pull_mm) == (None, None)


def test_a_tuning_note_counts_unless_it_is_left_out(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    execute(file, SECOND_NOTE)
    assert ask(file, "SELECT is_left_out, recorded_at FROM tuning_note") == [(0, None), (0, None)]
    with pytest.raises(sqlite3.IntegrityError):
        execute(file, "UPDATE tuning_note SET is_left_out = NULL")
