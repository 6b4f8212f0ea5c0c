"""Migration 0017 (run-throughs): new tables, and nothing that was there changes."""

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import Rows, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = {"run_through", "run_through_note"}


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0015")
    earlier = tables_of(file)
    assert earlier == {name: as_then(full[name], rows) for name, rows in earlier.items()}
    assert not NEW & set(earlier)
    migrate(notebook.database.engine)
    again = tables_of(file)
    assert set(again) == set(full)
    assert earlier == {name: as_then(again[name], rows) for name, rows in earlier.items()}
    assert [again[name] for name in NEW] == [[], []]


def as_then(rows: Rows, then: Rows) -> Rows:
    """Rows with the columns that they had then; later ones came and went."""
    columns = set(then[0]) if then else set()
    return [{name: each[name] for name in each if name in columns} for each in rows]
