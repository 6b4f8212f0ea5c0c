"""Open the notebook that a command works on."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from webapp.errors import NotebookError
from webapp.notebook import Notebook, default_folder, open_notebook


@contextmanager
def open_own_notebook() -> Iterator[Notebook]:
    """Open the player's own notebook; what keeps it shut is said in one sentence."""
    try:
        notebook = open_notebook(default_folder())
    except (NotebookError, OSError) as error:
        raise click.ClickException(str(error)) from error
    try:
        yield notebook
    finally:
        notebook.close()


@contextmanager
def open_demo_notebook() -> Iterator[Notebook]:
    """Open an empty throw-away notebook for the demo; its folder goes when the block ends."""
    folder = Path(tempfile.mkdtemp(prefix="quartervent-demo-"))
    notebook = open_notebook(folder, is_demo=True)
    try:
        yield notebook
    finally:
        notebook.close()
        shutil.rmtree(folder, ignore_errors=True)
