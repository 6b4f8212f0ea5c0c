"""Page of key effects: what each key does on one instrument."""

from flask import Blueprint, render_template

from webapp.notebook.finder.key_effects import open_key_effects
from webapp.presenting.words import current_notebook

blueprint = Blueprint("effects", __name__)


@blueprint.get("/instruments/<int:instrument_id>/key-effects")
def show(instrument_id: int) -> str:
    """Show the key effects that were learned."""
    page = open_key_effects(current_notebook(), instrument_id)
    return render_template("finder/key_effects.html", page=page, instrument=page.instrument)
