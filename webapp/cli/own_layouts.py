"""The layouts of the player's own, for commands that work without a notebook."""

from analysis.keywork import Layout
from webapp.cli.refusing import shut
from webapp.notebook.instruments.layouts import own_layouts
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.notebook import peek_notebook
from webapp.notebook.store.own_folder import default_folder


def read_own_layouts() -> tuple[Layout, ...]:
    """Read the player's own layouts by name; nothing is written, and no notebook holds none."""
    try:
        notebook = peek_notebook(default_folder())
    except (NotebookError, OSError) as error:
        raise shut(error, before="Your own layouts can't be read. ") from error
    if notebook is None:
        return ()
    try:
        return own_layouts(notebook)
    finally:
        notebook.close()
