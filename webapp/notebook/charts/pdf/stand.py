"""Stand chart: four or six fingerings a page, to be read from a music stand.

At 1.5 m a capital of 8.7 mm is seen under 20 minutes of arc, as large as print at reading distance
(closed formula: 1500 mm times the tangent of 20/60 degrees); the notes are set in that size.
"""

from __future__ import annotations

from dataclasses import dataclass

from webapp.notebook.charts.pdf.feed import (
    Fed,
    Report,
    feed_fingering,
    feed_head,
    feed_name,
    feed_staff,
    find_figure,
    keep_silent,
    reported,
)
from webapp.notebook.charts.pdf.rendering import typeset
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartSpec

_TEMPLATE = "stand.typ"
# Taller pictures, those of clarinets with an extension, get more room.
_TALL = 435.0
_SIX, _FOUR = (2, 3), (2, 2)


@dataclass(frozen=True, slots=True)
class StandSpec:
    """A stand chart: head, writing and entries of a chart, laid out for the stand."""

    chart: ChartSpec


def render_stand(spec: StandSpec, report: Report = keep_silent) -> bytes:
    """Make the PDF of a stand chart; `report` is told the share of its entries that is drawn."""
    chart = spec.chart
    heights = [entry.fingering.layout.view_box[3] for entry in chart.entries]
    columns, rows = _FOUR if max(heights, default=0.0) > _TALL else _SIX
    cells = [_feed_cell(chart, entry) for entry in reported(chart.entries, report)]
    on_a_page = columns * rows
    fed: Fed = {
        **feed_head(chart),
        "columns": columns,
        "rows": rows,
        "pages": [cells[first : first + on_a_page] for first in range(0, len(cells), on_a_page)],
    }
    return typeset(_TEMPLATE, fed, chart.as_of)


def _feed_cell(spec: ChartSpec, entry: ChartEntry) -> Fed:
    figure, spread = find_figure(spec, entry)
    return {
        "name": feed_name(spec, entry.written),
        "staff": feed_staff(spec, entry.written),
        "fingering": feed_fingering(spec, entry),
        "figure": figure,
        "spread": spread,
        "half_hole": entry.fingering.has_half_hole,
        "predicted": entry.prediction is not None,
    }
