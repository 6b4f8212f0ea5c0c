"""Migration 0024 (right thumb): an empty column, and nothing that was there changes."""

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0023")
    assert not any("right_thumb" in row for row in tables_of(file)["instrument"])
    migrate(notebook.database.engine)
    assert tables_of(file) == full
    assert {row["right_thumb"] for row in full["instrument"]} == {None}
