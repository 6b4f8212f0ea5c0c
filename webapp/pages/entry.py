"""The page of one fingering, which several views answer with."""

from flask import render_template

from analysis.pitch import Tuning
from webapp.forms.entries import TakeForm
from webapp.notebook.finder.trust import find_prediction
from webapp.notebook.fingerings.evenness import open_comparison
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.practice.practice import find_current_practice
from webapp.notebook.takes.hearing import list_heard, tones_of
from webapp.notebook.takes.tuning_reference import open_days
from webapp.notebook.targets.bases import KEPT, reference_of
from webapp.pages.drawings import read_choice
from webapp.presenting.words import current_notebook, current_writing


def render_entry(fingering_id: int, take_form: TakeForm) -> str:
    """Render the page of a fingering, with a form for its next take."""
    page = open_fingering(current_notebook(), fingering_id)
    practice = find_current_practice(current_notebook(), page.fingering.instrument_id)
    return render_template(
        "fingering/show.html",
        page=page,
        fingering=page.fingering,
        instrument=page.fingering.instrument,
        keys=page.fingering.key_states(),
        base=page.fingering.base_key_states(),
        take_form=take_form,
        days=open_days(current_notebook(), page.fingering, page.takes),
        practice=practice,
        tones=tones_of(
            page.fingering,
            current_writing().names,
            Tuning(practice.tuning_a_hz) if practice else None,
        ),
        heard=list_heard(current_notebook(), page.fingering, page.takes),
        comparison=open_comparison(current_notebook(), page.fingering, page.takes),
        drawing=read_choice(),
        suggestion=find_prediction(current_notebook(), fingering_id),
        base_reference=reference_of(page.fingering).removeprefix(KEPT),
    )
