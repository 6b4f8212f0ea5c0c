"""Page of preferences: how the player wants things written."""

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from analysis.finder.inputs import USUAL_LIP, LipReach, PlayersLip
from analysis.pitch import NoteNames
from webapp.forms.entries import PreferencesForm, add_refusal, read_count
from webapp.forms.signs import fill_in, read_sign_system
from webapp.notebook.preferences.preferences import (
    LIP_FIELDS,
    Writing,
    change_preferences,
    list_lip,
    read_version,
)
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.presenting.words import current_notebook, current_writing


def show() -> str | Response | tuple[str, int]:
    """Show and change the preferences."""
    writing = current_writing()
    form = PreferencesForm(
        note_names=writing.names.value,
        **fill_in(writing.accidentals),
        tolerance_cents=f"{writing.tolerance_cents:g}",
        theme=writing.theme,
        **{name: f"{cents:g}" for name, cents in _list_set(writing)},
        version=str(read_version(current_notebook())),
    )
    if not form.is_submitted():
        return _render(form, writing)
    if form.validate():
        try:
            change_preferences(
                current_notebook(), _wanted(form), seen_version=read_count(form.version)
            )
        except FieldRefused as error:
            add_refusal(form, error)
        except StaleEdit as error:
            form.version.data = str(read_version(current_notebook()))
            return _render(form, writing, stale=str(error)), error.status
        else:
            flash("Kept.")
            return redirect(url_for("preferences.show"))
    return _render(form, writing), 422


def _render(form: PreferencesForm, writing: Writing, *, stale: str = "") -> str:
    return render_template("preferences.html", form=form, system=writing.accidentals, stale=stale)


def _wanted(form: PreferencesForm) -> Writing:
    return Writing(
        names=NoteNames(form.note_names.data),
        accidentals=read_sign_system(form),
        tolerance_cents=form.tolerance_cents.number or 0.0,
        theme=form.theme.data or "system",
        lip=_read_lip(form),
    )


def _list_set(writing: Writing) -> list[tuple[str, float]]:
    """List what the player said of the lip; what is usual stays empty."""
    usual = list_lip(USUAL_LIP)
    set_here = zip(LIP_FIELDS, list_lip(writing.lip), usual, strict=True)
    return [(name, cents) for name, cents, as_usual in set_here if cents != as_usual]


def _read_lip(form: PreferencesForm) -> PlayersLip:
    typed = (form[name].number for name in LIP_FIELDS)
    figures = [
        usual if cents is None else cents
        for cents, usual in zip(typed, list_lip(USUAL_LIP), strict=True)
    ]
    return PlayersLip(LipReach(*figures[:2]), LipReach(*figures[2:]))
