"""Migration 0018 (passages): what the database refuses, and that it can be taken back."""

import sqlite3

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import execute, file_of, go_back, tables_of
from webapp.notebook.store.notebook import Notebook

PASSAGE = (
    "INSERT INTO passage (piece_id, instrument_id, first_bar, last_bar, emphasis, shown, "
    "shown_at, created_at) "
    "VALUES (1, {instrument}, {first}, {last}, '{emphasis}', '[]', '2026-01-01', '2026-01-01')"
)


def test_the_database_itself_refuses_what_no_passage_can_be(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    notebook, rows = with_pieces
    file, here = file_of(notebook), {"instrument": rows.soprano}
    for wrong in (
        PASSAGE.format(first=3, last=2, emphasis="safest", **here),
        PASSAGE.format(first=-1, last=2, emphasis="safest", **here),
        PASSAGE.format(first=2, last=3, emphasis="somehow", **here),
        PASSAGE.format(first=0, last=1, emphasis="safest", **here),  # there is one already
    ):
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, wrong)
    assert len(tables_of(file)["passage"]) == 1
    execute(file, f"DELETE FROM instrument WHERE id = {rows.soprano}")
    assert tables_of(file)["passage"] == []


def test_taken_back_the_rest_stays(with_pieces: tuple[Notebook, Filled]) -> None:
    notebook, _ = with_pieces
    file = file_of(notebook)
    go_back(notebook, "0018")
    full = tables_of(file)
    go_back(notebook, "0017")
    assert tables_of(file) == {name: rows for name, rows in full.items() if name != "passage"}
