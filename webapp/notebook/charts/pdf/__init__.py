"""A personal chart as PDF: what it is made of, and the functions that typeset each kind."""

from webapp.notebook.charts.pdf.every_kind import AnySpec, render
from webapp.notebook.charts.pdf.overview import OverviewCell, OverviewSpec, render_overview
from webapp.notebook.charts.pdf.rendering import render_chart
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartPrediction, ChartSpec, Paper
from webapp.notebook.charts.pdf.stand import StandSpec, render_stand

__all__ = [
    "AnySpec",
    "ChartEntry",
    "ChartPrediction",
    "ChartSpec",
    "OverviewCell",
    "OverviewSpec",
    "Paper",
    "StandSpec",
    "render",
    "render_chart",
    "render_overview",
    "render_stand",
]
