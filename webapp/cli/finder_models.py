"""The finder's model for a command: the untaught tube, or one learned from the player."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from analysis.errors import AnalysisError
from analysis.finder import PlayerModel
from analysis.keywork import Layout
from analysis.pitch import InstrumentKind, WrittenPitch, format_pitch
from webapp.cli.finder_cache import open_finder_cache

if TYPE_CHECKING:
    from webapp.notebook.store.notebook import Notebook
    from webapp.notebook.store.result_cache import Failed, ResultCache

# So long a command waits for a model that is made in the background.
PATIENCE_S = 600.0


def fit_untaught(kind: InstrumentKind, layout: Layout) -> PlayerModel:
    """Fit the model of a kind without any takes."""
    try:
        return PlayerModel.fit(kind.id, layout, (), cache=open_finder_cache())
    except AnalysisError as error:
        raise click.UsageError(str(error)) from error


def refuse_below_range(written: WrittenPitch, kind: InstrumentKind, layout: Layout) -> None:
    """Refuse a note that lies a semitone or more below the lowest of a layout."""
    lowest = kind.from_treble_notation(layout.lowest)
    if written.cents <= lowest.cents - 100:
        raise click.UsageError(
            f"{format_pitch(written)} lies below the range of the {kind.name} clarinet, which is "
            f"written {format_pitch(lowest)} to {format_pitch(kind.ordinary_top)}."
        )


@contextmanager
def open_own_finder(
    kind: InstrumentKind, *, wanted_layout: str, name: str
) -> Iterator[tuple["Notebook", "ResultCache", int]]:
    """Open the player's notebook with the number of the instrument that is meant.

    What the notebook refuses is told as wrong use.
    """
    # late: without the player's own notebook no database has to be loaded
    from webapp.cli.choosing import find_own_instrument
    from webapp.cli.opening import open_own_notebook
    from webapp.notebook.store.errors import NotebookError
    from webapp.notebook.store.result_cache import ResultCache

    with open_own_notebook() as notebook, ResultCache() as cache:
        own = find_own_instrument(notebook, kind, wanted_layout=wanted_layout, name=name)
        try:
            yield notebook, cache, own
        except NotebookError as error:
            raise click.UsageError(str(error)) from error


def refuse_unpredicted(failed: "Failed | None") -> click.UsageError:
    """Return the refusal of a command for which nothing can be predicted."""
    reason = failed.reason if failed else "It takes too long."
    return click.UsageError(f"Nothing can be predicted for this instrument. {reason}")
