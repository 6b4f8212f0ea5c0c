"""The page of key effects: how each key moves the pitch of one instrument."""

from flask import render_template
from werkzeug.wrappers import Response

from webapp.notebook.finder.key_effects import open_key_effects
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook


def show(instrument_id: int) -> Response:
    """Show the key effects that were learned, or how far learning them has come."""
    page = open_key_effects(current_notebook(), current_result_cache(), instrument_id)
    answer = render_template("finder/key_effects.html", page=page, instrument=page.instrument)
    return look_again(answer, page.working)
