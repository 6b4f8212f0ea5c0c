"""Migration 0011 (pieces): what the database refuses, and what goes with what."""

import sqlite3

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, go_back, tables_of
from webapp.notebook.store.notebook import Notebook

TABLES = {
    "piece", "piece_original", "piece_instrument", "settled_note", "fixed_fingering",
    "composer_fingering", "printed_sheet",
}  # fmt: skip
FIXED = (
    "INSERT INTO fixed_fingering (piece_id, instrument_id, kind, written_exact, bar, onset, "
    "before_exact, after_exact, fingering_id, created_at) "
    "VALUES (1, {instrument}, '{kind}', '7150', {bar}, '', '', '', {fingering}, '2026-01-01')"
)


def test_the_database_itself_refuses_what_no_decision_can_be(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    notebook, rows = with_pieces
    file = file_of(notebook)
    here = {"instrument": rows.soprano, "fingering": rows.base}
    for wrong in (
        "UPDATE settled_note SET how = 'somehow'",
        "UPDATE piece_original SET kind = 'picture'",
        FIXED.format(kind="pitch", bar=3, **here),
        FIXED.format(kind="note", bar=-1, **here),
        FIXED.format(kind="sometimes", bar=-1, **here),
    ):
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, wrong)
    execute(file, FIXED.format(kind="pitch", bar=-1, **here))
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        execute(file, FIXED.format(kind="pitch", bar=-1, **here))


def test_all_goes_with_the_piece_and_decisions_with_the_instrument(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    notebook, rows = with_pieces
    file = file_of(notebook)
    execute(file, f"DELETE FROM instrument WHERE id = {rows.soprano}")
    left = {name for name in TABLES if tables_of(file)[name]}
    assert left == {"piece", "piece_original", "printed_sheet"}
    execute(file, "DELETE FROM piece")
    assert not any(tables_of(file)[name] for name in TABLES)


def test_down_again_the_rows_are_as_they_were(with_pieces: tuple[Notebook, Filled]) -> None:
    notebook, _ = with_pieces
    file = file_of(notebook)
    go_back(notebook, "0011")
    full = tables_of(file)
    go_back(notebook, "0010")
    assert tables_of(file) == {name: rows for name, rows in full.items() if name not in TABLES}
