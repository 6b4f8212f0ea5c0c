"""The player's word on fingerings, and the tolerance of a note."""

from flask import flash, redirect, request, url_for
from werkzeug.wrappers import Response

from analysis.pitch import WrittenPitch
from webapp.forms.choices import ToleranceForm, WordForm
from webapp.notebook.fingerings.fingerings import open_fingering
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Circumstance, Role
from webapp.notebook.targets.choices import WordDraft, say_word, set_tolerance
from webapp.presenting.words import current_notebook

_SAID = {
    Role.MINE: "This one is yours now.",
    Role.ALTERNATE: "Kept as an alternate.",
    Role.REJECTED: "Rejected: it ranks last from now on.",
}


def say(fingering_id: int) -> Response:
    """Keep what the player says of a fingering for a note, and go back to that note."""
    form = WordForm()
    if not form.validate():
        raise FieldRefused(*form.first_problem)
    role = Role(form.role.data) if form.role.data else None
    draft = WordDraft(
        role,
        form.target.data or "",
        Circumstance(form.circumstance.data or Circumstance.ALWAYS.value),
        form.reason.data or "",
    )
    written = say_word(current_notebook(), fingering_id, draft)
    flash(_SAID[role] if role else "Taken back.")
    fingering = open_fingering(current_notebook(), fingering_id).fingering
    if not draft.target.strip() or request.form.get("to") == "entry":
        return redirect(url_for("fingerings.show", fingering_id=fingering_id))
    return redirect(_note_page(fingering.instrument_id, written))


def tolerate(instrument_id: int) -> Response:
    """Give a note a tolerance of its own, and go back to it."""
    form = ToleranceForm()
    if not form.validate():
        raise FieldRefused(*form.first_problem)
    written = set_tolerance(
        current_notebook(), instrument_id, form.target.data or "", form.tolerance_cents.number
    )
    flash("Saved.")
    return redirect(_note_page(instrument_id, written))


def _note_page(instrument_id: int, written: WrittenPitch) -> str:
    return url_for("notes.show", instrument_id=instrument_id, note=written.canonical)
