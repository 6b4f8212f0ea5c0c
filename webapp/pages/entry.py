"""The page of one fingering, which several views answer with."""

from flask import render_template

from webapp.forms.entries import TakeForm
from webapp.notebook.entry.opening import open_entry
from webapp.notebook.takes.takes import examine_clip
from webapp.pages.drawings import read_choice
from webapp.presenting.words import current_notebook, write_as


def render_entry(fingering_id: int, take_form: TakeForm) -> str:
    """Render the page of a fingering, with a form for its next take."""
    notebook = current_notebook()
    entry = open_entry(notebook, fingering_id)
    write_as(entry.writing)
    fingering = entry.page.fingering
    return render_template(
        "fingering/show.html",
        page=entry.page,
        fingering=fingering,
        instrument=fingering.instrument,
        keys=fingering.key_states(),
        base=fingering.base_key_states(),
        take_form=take_form,
        days=entry.days,
        practice=entry.practice,
        tones=entry.tones,
        heard=entry.playback,
        comparison=entry.comparison,
        drawing=read_choice(),
        clip_problems={each.id: examine_clip(notebook, each) for each in entry.page.shown},
        suggestion=entry.suggestion,
        base_reference=entry.base_reference,
        origin=entry.origin,
    )
