"""Page of preferences: how the player wants things written."""

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from analysis.pitch import AccidentalStyle, NoteNames
from webapp.forms.entries import PreferencesForm, add_refusal, read_count
from webapp.notebook.preferences.preferences import Writing, change_preferences, read_version
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.presenting.words import current_notebook, current_writing

blueprint = Blueprint("preferences", __name__)


@blueprint.route("/preferences", methods=["GET", "POST"])
def show() -> str | Response | tuple[str, int]:
    """Show and change the preferences."""
    writing = current_writing()
    form = PreferencesForm(
        note_names=writing.names.value,
        accidental_style=writing.accidentals.value,
        tolerance_cents=f"{writing.tolerance_cents:g}",
        theme=writing.theme,
        version=str(read_version(current_notebook())),
    )
    if not form.is_submitted():
        return render_template("preferences.html", form=form)
    if form.validate():
        try:
            change_preferences(
                current_notebook(), _wanted(form), seen_version=read_count(form.version)
            )
        except FieldRefused as error:
            add_refusal(form, error)
        except StaleEdit as error:
            form.version.data = str(read_version(current_notebook()))
            page = render_template("preferences.html", form=form, stale=str(error))
            return page, error.status
        else:
            flash("Kept.")
            return redirect(url_for("preferences.show"))
    return render_template("preferences.html", form=form), 422


def _wanted(form: PreferencesForm) -> Writing:
    return Writing(
        names=NoteNames(form.note_names.data),
        accidentals=AccidentalStyle(form.accidental_style.data),
        tolerance_cents=form.tolerance_cents.number or 0.0,
        theme=form.theme.data or "system",
    )
