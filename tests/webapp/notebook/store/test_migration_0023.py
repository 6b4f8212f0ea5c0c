"""Migration 0023 (letters): new tables, and nothing that was there changes."""

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = {"piece_letter"}


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0022")
    assert tables_of(file) == {name: rows for name, rows in full.items() if name not in NEW}
    migrate(notebook.database.engine)
    assert tables_of(file) == {name: [] if name in NEW else full[name] for name in full}
