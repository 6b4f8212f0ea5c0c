"""A personal chart as PDF: what it is made of, and `render_chart`, which typesets it."""

from webapp.chart.rendering import render_chart
from webapp.chart.spec import ChartEntry, ChartPrediction, ChartSpec, Paper

__all__ = ["ChartEntry", "ChartPrediction", "ChartSpec", "Paper", "render_chart"]
