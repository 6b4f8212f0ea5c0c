"""The page of one note: what is known, what to try, and the recorder for both."""

from http import HTTPStatus

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.pitch import Sentence, explain_fraction
from webapp.forms.entries import TakeForm
from webapp.forms.practice import StandForm
from webapp.notebook.exchange.received import open_near
from webapp.notebook.finder.note_page import NotePage, open_note, read_note
from webapp.notebook.pieces.run_throughs import find_in_context
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import exact_key
from webapp.notebook.takes.playback import find_tones
from webapp.notebook.targets.reading import read_target
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.notes import tell_reading
from webapp.presenting.words import current_notebook, write_as


def find(instrument_id: int) -> Response:
    """Lead from what was typed to the page of that note; the search page says what is unclear."""
    typed = (StandForm(request.args).q.data or "").strip()
    try:
        written = read_note(current_notebook(), instrument_id, typed)
    except FieldRefused:
        return redirect(url_for("search.show", q=typed, instrument=instrument_id))
    # What a fraction was taken for is said on the page; all else stands there as it was typed.
    said = typed if explain_fraction(typed) else None
    note = written.asking_text
    return redirect(url_for("notes.show", instrument_id=instrument_id, note=note, typed=said))


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
        others=open_near(current_notebook(), page.instrument, page.written),
        in_context=find_in_context(
            current_notebook(), instrument_id, exact_key(page.written.cents)
        ),
        tones=tones,
        take_form=TakeForm(formdata=None),
        reading=_tell_reading(page),
    )


def to_try(instrument_id: int, note: str) -> tuple[str, int]:
    """Answer with what to try alone, for a page that waits for it; 202 while it is worked out."""
    page = _open(instrument_id, note)
    status = HTTPStatus.ACCEPTED if page.suggested.working else HTTPStatus.OK
    return render_template("notes/_to_try.html", page=page, instrument=page.instrument), status


def _tell_reading(page: NotePage) -> Sentence:
    """Say how the note was read, where a text led here that means it."""
    typed = request.args.get("typed", "")
    writing = page.writing
    try:
        system = writing.accidentals
        read = read_target(typed, page.instrument, writing.names, system=system)
    except FieldRefused:
        return Sentence()
    return tell_reading(typed, page.written) if read == page.written else Sentence()


def _open(instrument_id: int, note: str) -> NotePage:
    page = open_note(current_notebook(), current_result_cache(), instrument_id, note)
    write_as(page.writing)
    return page
