"""The page of one note: what is known, what to try, and the recorder for both."""

from http import HTTPStatus

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from webapp.forms.entries import TakeForm
from webapp.notebook.finder.note_page import NotePage, open_note, read_note
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.takes.playback import find_tones
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing, write_as

blueprint = Blueprint("notes", __name__, url_prefix="/instruments/<int:instrument_id>/notes")


@blueprint.get("")
def find(instrument_id: int) -> Response:
    """Lead from what was typed to the page of that note; the search page says what is unclear."""
    typed = request.args.get("q", "").strip()
    try:
        names = current_writing().names
        written = read_note(current_notebook(), instrument_id, typed, names=names)
    except FieldRefused:
        return redirect(url_for("search.show", q=typed, instrument=instrument_id))
    return redirect(url_for("notes.show", instrument_id=instrument_id, note=written.canonical))


@blueprint.get("/<path:note>")
def show(instrument_id: int, note: str) -> str:
    """Show everything about a note."""
    page = _open(instrument_id, note)
    tones = find_tones(
        page.written.canonical,
        page.written,
        transposition=page.instrument.transposition,
        tuning=page.instrument.tuning,
        names=page.writing.names,
    )
    return render_template(
        "notes/show.html",
        page=page,
        instrument=page.instrument,
        tones=tones,
        take_form=TakeForm(formdata=None),
    )


@blueprint.get("/<path:note>/to-try")
def to_try(instrument_id: int, note: str) -> tuple[str, int]:
    """Answer with what to try alone, for a page that waits for it; 202 while it is worked out."""
    page = _open(instrument_id, note)
    status = HTTPStatus.ACCEPTED if page.suggested.working else HTTPStatus.OK
    return render_template("notes/_to_try.html", page=page, instrument=page.instrument), status


def _open(instrument_id: int, note: str) -> NotePage:
    page = open_note(current_notebook(), current_result_cache(), instrument_id, note)
    write_as(page.writing)
    return page
