"""Migration 0025 (two-note loops): a new table, new columns, and nothing that was there changes."""

from tests.webapp.logging_rows import Filled
from tests.webapp.looping import record_loop
from tests.webapp.older_forms import all_as_then, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = "two_note_loop"


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, rows = filled
    record_loop(notebook, rows.soprano)
    file = file_of(notebook)
    full = tables_of(file)
    assert full[NEW]
    go_back(notebook, "0024")
    earlier = tables_of(file)
    assert earlier == all_as_then(full, earlier)
    assert NEW not in earlier
    migrate(notebook.database.engine)
    again = tables_of(file)
    assert set(again) == set(full)
    assert earlier == all_as_then(again, earlier)
    assert again[NEW] == []
