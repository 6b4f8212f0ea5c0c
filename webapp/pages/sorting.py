"""Sorting takes: what a take was, by the player's word, with the way back; unsorted takes."""

# WTForms carries no types, so its classes are Any to mypy.
# mypy: allow-subclassing-any

import json
from collections.abc import Callable
from dataclasses import asdict
from datetime import timedelta

from flask import flash, redirect, render_template, request, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response
from wtforms import HiddenField, IntegerField, SelectChoice
from wtforms.validators import InputRequired, Optional

from analysis.pitch import Sentence
from webapp.forms.fields import ChoiceField
from webapp.forms.finder import AddressForm
from webapp.notebook.fingerings.sorting import (
    Sorting,
    confirm_take,
    count_take,
    give_take,
    move_entry,
    move_to_own_entry,
    undo_sorting,
)
from webapp.notebook.store.errors import Refused
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.takes import open_take
from webapp.notebook.takes.unsorted import OLD_AFTER, list_unsorted
from webapp.presenting.notes import show_sentence
from webapp.presenting.take_words import played_note
from webapp.presenting.words import current_notebook

UNDO = "sorted"
"""The category of a message that carries what is needed to undo a sorting."""


class GiveForm(FlaskForm):
    """Which fingering a take goes to."""

    fingering = IntegerField("Fingering", [InputRequired("Choose a fingering.")])


class AgeForm(AddressForm):
    """From which age on unsorted takes are named as old."""

    days = ChoiceField(
        "Mark as old after",
        choices=[
            SelectChoice("7", "a week"),
            SelectChoice("30", "a month"),
            SelectChoice("90", "three months"),
            SelectChoice("365", "a year"),
        ],
        default="30",
    )


class UndoForm(FlaskForm):
    """What was done with a take, as the page was told."""

    take = IntegerField(validators=[InputRequired()])
    from_id = IntegerField(validators=[Optional()])
    to_id = IntegerField(validators=[Optional()])
    was_confirmed = HiddenField()
    made_id = IntegerField(validators=[Optional()])
    moved_from = HiddenField()


def count(take_id: int) -> Response:
    """Let a take count."""
    return _sort(take_id, count_take)


def count_here(take_id: int) -> Response:
    """Let a take count for the note that its fingering was logged for."""
    return _sort(take_id, confirm_take)


def move(take_id: int) -> Response:
    """Log the whole fingering of a take for the note that the take sounded."""
    return _sort(take_id, move_entry)


def own_entry(take_id: int) -> Response:
    """Give a take an entry of its own, with the same keys."""
    return _sort(take_id, move_to_own_entry)


def give(take_id: int) -> Response:
    """Give a take to another fingering."""
    form = GiveForm()
    if not form.validate() or form.fingering.data is None:
        raise Refused("Choose the fingering that the take goes to.")
    fingering_id = form.fingering.data
    return _sort(take_id, lambda notebook, number: give_take(notebook, number, fingering_id))


def undo() -> Response:
    """Put a take back where it was."""
    form = UndoForm()
    if not form.validate() or form.take.data is None:
        raise Refused("This can no longer be undone from here. Open the take to sort it again.")
    done = Sorting(
        form.take.data,
        form.from_id.data,
        form.to_id.data,
        form.was_confirmed.data == "1",
        form.made_id.data,
        form.moved_from.data or None,
    )
    undo_sorting(current_notebook(), done)
    flash("The take is back where it was.")
    return redirect(_page_of(done.take_id))


def unsorted(instrument_id: int) -> str:
    """List the takes of an instrument that belong to no fingering yet."""
    form = AgeForm(request.args)
    days = int(form.days.data) if form.validate() else OLD_AFTER.days
    page = list_unsorted(current_notebook(), instrument_id, old_after=timedelta(days=days))
    return render_template(
        "takes/unsorted.html", page=page, instrument=page.instrument, form=form, days=days
    )


def _sort(take_id: int, verb: Callable[[Notebook, int], Sorting]) -> Response:
    done = verb(current_notebook(), take_id)
    page = open_take(current_notebook(), take_id)
    assert page.fingering is not None
    played = played_note(page.take, page.instrument)
    said = Sentence("The take of ", played, " now stands at ", page.fingering.written, ".")
    flash(json.dumps({"words": show_sentence(said), "done": asdict(done)}), UNDO)
    if done.from_id is None and (request.form.get("stay") == "1"):
        return redirect(url_for("sorting.unsorted", instrument_id=page.instrument.id))
    return redirect(url_for("fingerings.show", fingering_id=page.fingering.id))


def _page_of(take_id: int) -> str:
    page = open_take(current_notebook(), take_id)
    if page.fingering is None:
        return url_for("sorting.unsorted", instrument_id=page.instrument.id)
    return url_for("fingerings.show", fingering_id=page.fingering.id)
