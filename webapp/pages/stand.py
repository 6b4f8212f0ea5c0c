"""The stand: what lies on the music stand while playing.

A page holds everything it needs, so that going through the list asks nothing of the server.
"""

from flask import Blueprint, render_template, request

from analysis.pitch import Tuning
from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.practice import StandForm
from webapp.notebook.practice.stand import (
    StandItem,
    StandPage,
    open_fingering_stand,
    open_stand,
    open_target_stand,
)
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.takes.playback import Tones, find_tones
from webapp.presenting.words import current_notebook, write_as

blueprint = Blueprint("stand", __name__)


@blueprint.get("/practice/<int:practice_id>/stand")
def show(practice_id: int) -> str:
    """Show the list of a session."""
    return _render(open_stand(current_notebook(), practice_id))


@blueprint.get("/fingerings/<int:fingering_id>/stand")
def show_fingering(fingering_id: int) -> str:
    """Show one fingering, without a list."""
    return _render(open_fingering_stand(current_notebook(), fingering_id))


@blueprint.get("/instruments/<int:instrument_id>/stand")
def show_target(instrument_id: int) -> str | tuple[str, int]:
    """Show one typed target, without a list."""
    form = StandForm(request.args)
    try:
        page = open_target_stand(current_notebook(), instrument_id, form.q.data or "")
    except FieldRefused as error:
        add_refusal(form, error)
        page = open_target_stand(current_notebook(), instrument_id, "")
        return _render(page, form), error.status
    return _render(page, form)


def _render(page: StandPage, form: StandForm | None = None) -> str:
    write_as(page.writing)
    return render_template(
        "stand/show.html",
        tones=[_tones(page, item) for item in page.items],
        best_takes=page.best_takes,
        page=page,
        instrument=page.instrument,
        practice=page.practice,
        form=form,
        press_form=PressForm(formdata=None),
    )


def _tones(page: StandPage, item: StandItem) -> Tones:
    """Return what a target sounds like, and its root if it was once asked for by an interval."""
    typed = (
        each.fingering.target_typed
        for each in item.candidates
        if each.fingering is not None and each.fingering.written == item.written
    )
    return find_tones(
        next(typed, ""),
        item.written,
        transposition=page.instrument.transposition,
        tuning=Tuning(page.tuning_a_hz),
        names=page.writing.names,
    )
