"""Kinds of charts: all fingerings, the overview of the range, a few a page for the music stand."""

from collections.abc import Sequence

from webapp.notebook.charts.charts import (
    Chart,
    ChartChoice,
    ChartKind,
    ComposedChart,
    compose_chart,
    typeset,
)
from webapp.notebook.charts.overview_charts import compose_overview
from webapp.notebook.charts.pdf import ChartEntry
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook


def make_chart_of_kind(
    notebook: Notebook,
    choice: ChartChoice,
    *,
    writing: Writing,
    predicted: Sequence[ChartEntry] = (),
) -> Chart:
    """Make the kind of chart that was chosen; see `compose_chart_of_kind`."""
    return typeset(compose_chart_of_kind(notebook, choice, writing=writing, predicted=predicted))


def compose_chart_of_kind(
    notebook: Notebook,
    choice: ChartChoice,
    *,
    writing: Writing,
    predicted: Sequence[ChartEntry] = (),
) -> ComposedChart:
    """Say what the kind of chart that was chosen consists of; an overview has no predictions.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a range end cannot be read, the range is upside down, or it holds too much.
    """
    if choice.kind is ChartKind.OVERVIEW:
        return compose_overview(notebook, choice, writing=writing)
    return compose_chart(notebook, choice, writing=writing, predicted=predicted)
