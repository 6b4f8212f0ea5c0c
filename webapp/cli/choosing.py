"""Choose the instrument or the piece that a command is about, by its name."""

import click

from analysis.pitch import InstrumentKind
from webapp.cli.refusing import Refusal
from webapp.notebook.instruments.instruments import choose_instruments
from webapp.notebook.store.notebook import Notebook


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
    from webapp.notebook.pieces.pieces import list_pieces

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
