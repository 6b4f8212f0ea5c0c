"""The stand: what lies on the music stand while playing.

A page holds everything it needs, so that going through the list asks nothing of the server.
"""

from http import HTTPStatus

from flask import render_template, request

from analysis.pitch import NoteNames, Tuning
from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.practice import StandForm
from webapp.notebook.finder.suggesting import WishList, find_suggestions
from webapp.notebook.practice.stand import (
    open_fingering_stand,
    open_first_day_stand,
    open_stand,
    open_target_stand,
)
from webapp.notebook.practice.stand_items import StandItem, StandPage
from webapp.notebook.practice.tuning_notes import tuning_notes_of
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.takes.playback import Tones, find_tones
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing, write_as

SUGGESTED = 5
PATIENCE_S = 0.3  # the stand is there meanwhile, and asks again


def show(practice_id: int) -> str:
    """Show the list of a session."""
    return _render(open_stand(current_notebook(), practice_id))


def show_fingering(fingering_id: int) -> str:
    """Show one fingering, without a list."""
    return _render(open_fingering_stand(current_notebook(), fingering_id))


def show_target(instrument_id: int) -> str | tuple[str, int]:
    """Show one typed note, without a list; `suggested` asks for what to try, solved or not."""
    form = StandForm(request.args)
    try:
        page = open_target_stand(
            current_notebook(),
            instrument_id,
            form.q.data or "",
            asks_suggestions="suggested" in request.args,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        page = open_target_stand(current_notebook(), instrument_id, "")
        return _render(page, form), error.status
    return _render(page, form)


def show_first_day(instrument_id: int) -> str:
    """Show the notes of the first day as a list."""
    return _render(open_first_day_stand(current_notebook(), instrument_id))


def suggestions(instrument_id: int) -> tuple[str, int]:
    """Answer with the suggestions for a note as the stand shows them; 202 while they are made."""
    page = find_suggestions(
        current_notebook(),
        current_result_cache(),
        instrument_id,
        request.args.get("note", ""),
        WishList(tolerance_cents=current_writing().tolerance_cents, most_shown=SUGGESTED),
        names=NoteNames.ENGLISH,
        patience_s=PATIENCE_S,
    )
    status = HTTPStatus.ACCEPTED if page.working else HTTPStatus.OK
    return render_template("stand/_suggested.html", page=page), status


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
        tuning_notes=tuning_notes_of(page.instrument.kind),
        is_first_day=any(each.asked for item in page.items for each in item.candidates),
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
