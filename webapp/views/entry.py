"""The page of one fingering, which several views answer with."""

from flask import render_template

from webapp.forms import TakeForm
from webapp.presenting import current_notebook
from webapp.services.fingerings import open_fingering


def render_entry(fingering_id: int, take_form: TakeForm) -> str:
    """Render the page of a fingering, with a form for its next take."""
    page = open_fingering(current_notebook(), fingering_id)
    return render_template(
        "fingering/show.html",
        page=page,
        fingering=page.fingering,
        instrument=page.fingering.instrument,
        keys=page.fingering.key_states(),
        base=page.fingering.base_key_states(),
        take_form=take_form,
    )
