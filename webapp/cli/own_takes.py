"""Evidence from the player's own notebook on one instrument, for commands that predict."""

from __future__ import annotations

from dataclasses import dataclass

import click

from analysis.finder import LoggedPitch, Start
from analysis.keywork import Layout
from analysis.pitch import InstrumentKind
from webapp.cli.opening import open_own_notebook
from webapp.notebook.finder.finder_evidence import collect_evidence
from webapp.notebook.instruments.instruments import choose_instruments


@dataclass(frozen=True, slots=True)
class OwnTakes:
    """The keywork of an instrument, what was measured on it, and where it can be started from."""

    layout: Layout
    logs: tuple[LoggedPitch, ...] = ()
    starts: tuple[Start, ...] = ()
    air_c: float | None = None


def read_own_takes(kind: InstrumentKind, *, wanted_layout: str, name: str) -> OwnTakes:
    """Read what the notebook knows of the one instrument of a kind.

    Args:
        kind: what it is.
        wanted_layout: id of its keywork; empty for any.
        name: its name in the notebook, needed if there are several; empty for the only one.
    """
    with open_own_notebook() as notebook:
        every = [
            each
            for each in choose_instruments(notebook)
            if each.kind_id == kind.id and wanted_layout in {"", each.layout.id}
        ]
        instrument = every[_choose([each.name for each in every], kind, name)]
        with notebook.database.reading() as session:
            evidence = collect_evidence(session, instrument)
    return OwnTakes(instrument.layout, evidence.logs, evidence.starts, evidence.air_c)


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
