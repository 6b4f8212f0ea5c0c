"""Print a chart of any kind from its page: a small one at once, a large one in the background."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import IO

from webapp.notebook.charts.charts import ChartChoice, typeset
from webapp.notebook.charts.kinds import compose_chart_of_kind
from webapp.notebook.charts.pdf import ChartEntry
from webapp.notebook.charts.pdf.apart import render_apart
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Name,
    Outcome,
    Ready,
    Report,
    ResultCache,
)

AT_ONCE_ENTRIES = 400  # more take longer than a second


@dataclass(frozen=True, slots=True, eq=False)
class PrintedChart:
    """A chart in a file without a name, which is gone when the file is closed."""

    file: IO[bytes]
    file_name: str


def print_chart(
    notebook: Notebook,
    result_cache: ResultCache,
    choice: ChartChoice,
    *,
    writing: Writing,
    predicted: Sequence[ChartEntry] = (),
    patience_s: float = PATIENCE_S,
) -> Outcome[PrintedChart]:
    """Print the chosen chart of one instrument; a file made in the background comes once.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: a range end cannot be read, the range is upside down, or it holds too much.
    """
    composed = compose_chart_of_kind(notebook, choice, writing=writing, predicted=predicted)
    if composed.entry_count <= AT_ONCE_ENTRIES:
        return Ready(PrintedChart(BytesIO(typeset(composed).pdf), composed.file_name))

    def work(report: Report) -> PrintedChart:
        return PrintedChart(render_apart(composed.spec, report), composed.file_name)

    name = _name(choice.instrument_id)
    outcome = result_cache.ask(name, composed, work, patience_s=patience_s)
    if isinstance(outcome, Ready):
        result_cache.take(name)
    return outcome


def give_up_chart(result_cache: ResultCache, instrument_id: int) -> None:
    """Stop making a chart of an instrument; nothing is left of it."""
    result_cache.give_up(_name(instrument_id))


def _name(instrument_id: int) -> Name:
    return "chart", instrument_id
