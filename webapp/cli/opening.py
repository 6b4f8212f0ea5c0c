"""Open the notebook that a command works on."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from webapp.cli.refusing import shut
from webapp.notebook.opening import open_notebook
from webapp.notebook.store.errors import (
    FolderInUse,
    MigrationDamage,
    NotebookDamaged,
    NotebookError,
    NotebookUnreadable,
)
from webapp.notebook.store.folder_lock import FolderLock, hold_folder
from webapp.notebook.store.notebook import (
    Notebook,
    hold_notebook,
    let_go_on_failure,
)
from webapp.notebook.store.own_folder import default_folder


@contextmanager
def hold_own_folder(what: str) -> Iterator[FolderLock]:
    """Hold the folder of the player's notebook against a second server; see `hold_folder`."""
    try:
        with hold_folder(default_folder(), what) as held:
            yield held
    except FolderInUse as error:
        raise click.ClickException(str(error)) from error


@contextmanager
def open_own_notebook(*, may_be_damaged: bool = False) -> Iterator[Notebook]:
    """Open the player's own notebook; what keeps it shut is said in one sentence.

    With `may_be_damaged`, one whose database is damaged is only taken hold of.
    """
    try:
        notebook = _open(default_folder(), may_be_damaged=may_be_damaged)
    except (NotebookError, OSError) as error:
        raise shut(error) from error
    try:
        with let_go_on_failure(notebook.database.engine):
            yield notebook
    except NotebookUnreadable as error:
        raise shut(error) from error
    finally:
        notebook.close()


def _open(folder: Path, *, may_be_damaged: bool) -> Notebook:
    try:
        return open_notebook(folder)
    except (NotebookDamaged, MigrationDamage):
        if not may_be_damaged:
            raise
        return hold_notebook(folder)


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
