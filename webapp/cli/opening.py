"""Open the notebook that a command works on."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from analysis.pitch import InstrumentKind
from webapp.cli.refusing import Refusal, shut
from webapp.notebook.instruments.instruments import choose_instruments
from webapp.notebook.opening import open_notebook
from webapp.notebook.pieces.pieces import list_pieces
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


def choose_by_name(notebook: Notebook, wanted: str) -> int:
    """Find the number of an instrument by its name, or by a part that only one name has.

    Raises:
        Refusal: there is none, or it could be several.
    """
    instruments = choose_instruments(notebook)
    if not instruments:
        raise Refusal(
            "The notebook holds no instrument yet. Add one: "
            "quartervent instrument add NAME --kind KIND"
        )
    sought = wanted.strip().casefold()
    named = [each for each in instruments if each.name.casefold() == sought] or [
        each for each in instruments if sought in each.name.casefold()
    ]
    if len(named) == 1 or (named and notebook.is_demo and not wanted):
        return named[0].id
    names = ", ".join(f"“{each.name}”" for each in instruments)
    raise Refusal(f"Say with --instrument which one: {names}.")


def choose_piece(notebook: Notebook, wanted: str) -> int:
    """Find the number of a piece by its title, or by a part that only one title has.

    Raises:
        Refusal: there is none, or it could be several.
    """
    pieces = [each.piece for each in list_pieces(notebook)]
    sought = wanted.strip().casefold()
    named = [each for each in pieces if each.title.casefold() == sought] or [
        each for each in pieces if sought in each.title.casefold()
    ]
    if len(named) == 1:
        return named[0].id
    titles = ", ".join(f"“{each.title}”" for each in pieces) or "none yet"
    raise Refusal(f"Say with --piece which one: {titles}.")


def find_own_instrument(
    notebook: Notebook, kind: InstrumentKind, *, wanted_layout: str, name: str
) -> int:
    """Return the number of the one instrument of a kind in the player's notebook.

    Args:
        notebook: where to look.
        kind: what it is.
        wanted_layout: id of its keywork; empty for any.
        name: its name in the notebook, needed if there are several; empty for the only one.
    """
    every = [
        each
        for each in choose_instruments(notebook)
        if each.kind_id == kind.id and wanted_layout in {"", each.layout.id}
    ]
    return every[_choose([each.name for each in every], kind, name)].id


def _choose(names: list[str], kind: InstrumentKind, name: str) -> int:
    """Find the place of the one name that is meant."""
    sought = name.strip().casefold()
    found = [place for place, each in enumerate(names) if sought in {"", each.casefold()}]
    if len(found) == 1:
        return found[0]
    if not found:
        raise click.ClickException(
            f"Your notebook holds no such instrument ({kind.name}). Leave --own out, or add it in "
            "the browser first."
        )
    listed = ", ".join(f"“{names[place]}”" for place in found)
    raise click.UsageError(f"Your notebook holds several; say with --name which one: {listed}.")
