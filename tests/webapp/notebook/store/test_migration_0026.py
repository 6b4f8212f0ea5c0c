"""Migration 0026 (takes by time): an index that the newest takes are found by."""

from sqlalchemy import inspect

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook


def has_index(notebook: Notebook) -> bool:
    indexes = inspect(notebook.database.engine).get_indexes("take")
    return "ix_take_recorded" in [each["name"] for each in indexes]


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    full = tables_of(file_of(notebook))
    go_back(notebook, "0025")
    assert tables_of(file_of(notebook)) == full
    assert not has_index(notebook)
    migrate(notebook.database.engine)
    assert tables_of(file_of(notebook)) == full
    assert has_index(notebook)
