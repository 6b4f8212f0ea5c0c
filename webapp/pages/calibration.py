"""The first day with an instrument: what to record to make the predictions the player's own."""

from flask import render_template
from werkzeug.wrappers import Response

from webapp.notebook.finder.calibrating import open_calibration
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook


def show(instrument_id: int) -> Response:
    """Ask for ordinary notes and simple cross-fingerings, and show what they gained."""
    page = open_calibration(current_notebook(), current_result_cache(), instrument_id)
    answer = render_template("finder/first_day.html", page=page, instrument=page.instrument)
    return look_again(answer, page.working)
