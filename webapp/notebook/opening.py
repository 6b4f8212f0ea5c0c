"""Opens a notebook: its folder and schema by the store, then the upkeep of what is derived."""

from dataclasses import replace
from pathlib import Path

from webapp.notebook.store.notebook import Notebook, let_go_on_failure, open_store
from webapp.notebook.upkeep import bring_up_to_date


def open_notebook(folder: Path, *, is_demo: bool = False) -> Notebook:
    """Make the folder if needed, bring its database up to date and open it.

    Raises:
        NotebookFromLater: the database was written by a newer version.
        NotebookUnreadable: it is locked or out of reach.
        NotebookDamaged: it is damaged, or not that of a notebook.
        MigrationDamage: upgrading it would have lost rows; it is as it was.
    """
    notebook = open_store(folder, is_demo=is_demo)
    with let_go_on_failure(notebook.database.engine):
        news = bring_up_to_date(notebook.database)
    return replace(notebook, news=news)
