"""The list of a practice: put targets on it, sort it, mark what was done."""

from collections.abc import Callable
from functools import partial

from flask import flash, jsonify, redirect, request, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response

from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.practice import FactsForm, GapsForm, TargetStateForm, TypedTargetsForm
from webapp.notebook.finder.plans import PlanOrder
from webapp.notebook.practice.practice import (
    PracticeDraft,
    change_practice,
    find_current_practice,
    start_practice,
)
from webapp.notebook.practice.practice_targets import (
    add_gaps,
    add_notes,
    add_tries,
    add_typed,
    add_unmeasured,
    find_last_target,
    move_target,
    remove_target,
    settle_target,
)
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.notebook import Notebook
from webapp.pages.practice import PracticeForms, render_practice
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook, current_writing

Answer = Response | tuple[str, int]


def change(practice_id: int) -> Answer:
    """Change the facts of an open practice."""
    form = FactsForm()

    def keep() -> str:
        change_practice(
            current_notebook(),
            practice_id,
            tuning_a_hz=form.tuning_a_hz.number,
            air_temperature_c=form.air_temperature_c.number,
            reed=form.reed.data or "",
            barrel_pull_mm=form.barrel_pull_mm.number,
        )
        return (
            "Changed; takes that are there keep the tuning A and temperature they were made with."
        )

    return _keep(practice_id, form, keep, PracticeForms(facts=form))


def add_by_hand(practice_id: int) -> Answer:
    """Put typed pitches on the list."""
    form = TypedTargetsForm()

    def keep() -> str:
        names = current_writing().names
        return _said(
            add_typed(current_notebook(), practice_id, form.targets.data or "", names=names)
        )

    return _keep(practice_id, form, keep, PracticeForms(typed=form))


def add_from_gaps(practice_id: int) -> Answer:
    """Put gaps of the written range on the list."""
    form = GapsForm()

    def keep() -> str:
        writing = current_writing()
        order = PlanOrder(
            int(form.grid.data),
            form.low.data or "",
            form.high.data or "",
            writing.tolerance_cents,
            writing.accidentals,
        )
        count = form.count.data
        return _said(
            add_gaps(current_notebook(), practice_id, order, count=count, names=writing.names)
        )

    return _keep(practice_id, form, keep, PracticeForms(gaps=form))


def add_from_tries(practice_id: int) -> Answer:
    """Put what waits on the try list on the list."""
    return _add(practice_id, add_tries)


def add_from_unmeasured(practice_id: int) -> Answer:
    """Put the fingerings that wait for a recording on the list."""
    return _add(practice_id, add_unmeasured)


def practise_tries(instrument_id: int) -> Response:
    """Go to the stand with the try list: in the open practice, or in one that begins now."""
    return to_the_stand(instrument_id, add_tries)


def practise_notes(instrument_id: int) -> Response:
    """Go to the stand with some open notes: in the open practice, or in one that begins now."""
    notes = request.form.getlist("note")
    return to_the_stand(instrument_id, partial(add_notes, notes=notes))


def to_the_stand(
    instrument_id: int, add: Callable[[Notebook, int], int], *, shows_last: bool = False
) -> Response:
    """Go to the stand with what is added to the open practice, or to one that begins now.

    `shows_last`: with what was added last in sight, not the first that is open.
    """
    PressForm().validate()
    notebook = current_notebook()
    current = find_current_practice(notebook, instrument_id)
    practice_id = (
        current.id if current else start_practice(notebook, instrument_id, PracticeDraft())
    )
    try:
        add(notebook, practice_id)
    except Refused as error:
        flash(show_refusal(error))
        return redirect(url_for("stand.show", practice_id=practice_id))
    anchor = f"target-{find_last_target(notebook, practice_id)}" if shows_last else None
    return redirect(url_for("stand.show", practice_id=practice_id, _anchor=anchor))


def move(target_id: int) -> Response:
    """Move a target up or down."""
    is_up = request.form.get("direction") != "down"
    return _back(move_target(current_notebook(), target_id, is_up=is_up))


def remove(target_id: int) -> Response:
    """Take a target off the list."""
    return _back(remove_target(current_notebook(), target_id))


def settle(target_id: int) -> Response:
    """Mark a target, from a form."""
    row_practice_id, _ = _settle(target_id)
    if request.args.get("to") == "stand":
        return redirect(
            url_for("stand.show", practice_id=row_practice_id, _anchor=f"target-{target_id}")
        )
    return _back(row_practice_id)


def settle_for_script(target_id: int) -> Response:
    """Mark a target, from the stand."""
    _, state = _settle(target_id)
    return jsonify(target=target_id, state=state)


def _settle(target_id: int) -> tuple[int, str]:
    form = TargetStateForm()
    if not form.validate():
        raise FieldRefused("state", "A target is open, done or skipped. Choose one of these.")
    note = form.note.data if "note" in request.form else None
    row = settle_target(current_notebook(), target_id, form.chosen, note=note)
    return row.practice_id, row.state


def _add(practice_id: int, add: Callable[..., int]) -> Answer:
    form = PressForm()
    return _keep(
        practice_id,
        form,
        lambda: _said(add(current_notebook(), practice_id)),
        PracticeForms(press=form),
    )


def _keep(
    practice_id: int, form: FlaskForm, keep: Callable[[], str], forms: PracticeForms
) -> Answer:
    """Do what a form asks for, or show the page again with what is wrong."""
    if not form.validate():
        return render_practice(practice_id, forms), 422
    try:
        flash(keep())
    except Refused as error:
        if isinstance(error, FieldRefused):
            add_refusal(form, error)
        else:
            form.form_errors.append(str(error))
        return render_practice(practice_id, forms), error.status
    return _back(practice_id)


def _said(count: int) -> str:
    return "1 target is on the list." if count == 1 else f"{count} targets are on the list."


def _back(practice_id: int) -> Response:
    return redirect(url_for("practice.show", practice_id=practice_id, _anchor="list"))
