"""A personal chart as PDF: what it is made of, and `render_chart`, which typesets it."""

from webapp.notebook.charts.pdf.rendering import render_chart
from webapp.notebook.charts.pdf.spec import ChartEntry, ChartPrediction, ChartSpec, Paper

__all__ = ["ChartEntry", "ChartPrediction", "ChartSpec", "Paper", "render_chart"]
