"""Migration 0014 (what came from others): new tables, and nothing that was there changes."""

from tests.webapp.logging_rows import Filled
from tests.webapp.older_forms import all_as_then, file_of, go_back, tables_of
from webapp.notebook.store.migrating import migrate
from webapp.notebook.store.notebook import Notebook

NEW = {
    "own_identity", "sender", "received_instrument", "received_fingering", "received_clip",
    "received_list", "received_origin",
}  # fmt: skip


def test_down_and_up_again_every_row_is_as_it_was(filled: tuple[Notebook, Filled]) -> None:
    notebook, _ = filled
    file = file_of(notebook)
    full = tables_of(file)
    go_back(notebook, "0013")
    left = tables_of(file)
    assert left == all_as_then(full, left)
    assert not NEW & left.keys()
    migrate(notebook.database.engine)
    again = tables_of(file)
    assert again == {name: [] if name in NEW else full[name] for name in full}
