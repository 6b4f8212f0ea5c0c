"""Migration 0015 (own pages): what the database refuses, and what goes with the piece."""

import sqlite3

import pytest

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import all_as_then, execute, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = {"page_file", "page_mark"}


def test_down_and_up_again_every_row_is_as_it_was(with_pieces: tuple[Notebook, Filled]) -> None:
    notebook, _ = with_pieces
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0014")
    left = tables_of(file)
    assert left == all_as_then(full, left)
    assert not NEW & left.keys()
    migrate(notebook.database.engine)
    again = tables_of(file)
    assert left == all_as_then(again, left)
    assert [again[name] for name in NEW] == [[], []]


def test_the_database_refuses_what_no_mark_can_be_and_all_goes_with_the_piece(
    with_pieces: tuple[Notebook, Filled],
) -> None:
    notebook, _ = with_pieces
    file = file_of(notebook)
    for wrong in (
        "UPDATE page_file SET kind = 'gif'",
        "UPDATE page_mark SET form = 'number'",
        "UPDATE page_mark SET page = -1",
        "UPDATE page_mark SET file_id = 99",
    ):
        with pytest.raises(sqlite3.IntegrityError):
            execute(file, wrong)
    assert all(tables_of(file)[name] for name in NEW)
    execute(file, "DELETE FROM piece")
    assert not any(tables_of(file)[name] for name in NEW)
