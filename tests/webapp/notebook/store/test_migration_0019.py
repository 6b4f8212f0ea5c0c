"""Migration 0019 (reach of the lip): empty columns, and nothing that was there changes."""

from analysis.finder.inputs import USUAL_LIP
from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import file_of, go_back, tables_of
from webapp.notebook.preferences.preferences import (
    LIP_FIELDS,
    Writing,
    change_preferences,
    read_preferences,
)
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    change_preferences(notebook, Writing(tolerance_cents=7.0))
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0018")
    (earlier,) = tables_of(file)["preferences"]
    assert not set(LIP_FIELDS) & set(earlier)
    migrate(notebook.database.engine)
    assert tables_of(file) == full
    assert read_preferences(notebook).lip == USUAL_LIP
