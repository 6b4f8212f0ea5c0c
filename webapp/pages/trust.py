"""Predictions against measurements over time."""

from flask import render_template

from webapp.drawing.trust import describe_trust
from webapp.notebook.finder.trust import open_trust
from webapp.presenting.words import current_notebook


def show(instrument_id: int) -> str:
    """Show how far predictions were off on one instrument."""
    page = open_trust(current_notebook(), instrument_id)
    return render_template(
        "finder/trust.html",
        page=page,
        instrument=page.instrument,
        words=describe_trust(page.points),
    )
