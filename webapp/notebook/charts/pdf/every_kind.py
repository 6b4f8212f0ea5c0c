"""Typesets a chart of any kind: its specification says which."""

from __future__ import annotations

from webapp.notebook.charts.pdf.feed import Report, keep_silent
from webapp.notebook.charts.pdf.overview import OverviewSpec, render_overview
from webapp.notebook.charts.pdf.rendering import render_chart
from webapp.notebook.charts.pdf.spec import ChartSpec
from webapp.notebook.charts.pdf.stand import StandSpec, render_stand

AnySpec = ChartSpec | StandSpec | OverviewSpec


def render(spec: AnySpec, report: Report = keep_silent) -> bytes:
    """Make the PDF of a chart; `report` is told the share of its entries that is drawn."""
    if isinstance(spec, OverviewSpec):
        return render_overview(spec, report)
    if isinstance(spec, StandSpec):
        return render_stand(spec, report)
    return render_chart(spec, report)
