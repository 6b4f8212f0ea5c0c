"""The page of other colours for a note."""

from flask import make_response, render_template, request
from werkzeug.wrappers import Response

from webapp.forms.entries import add_refusal
from webapp.forms.finder import ColoursForm
from webapp.notebook.finder.colours import ColourPage, open_colours
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing


def show(instrument_id: int) -> Response | tuple[str, int]:
    """Show the form; with a note in the address, other colours for it too."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = ColoursForm(request.args)
    if not form.validate():
        return _show(form, instrument, None), 422
    if not (form.q.data or "").strip():
        return make_response(_show(form, instrument, None))
    try:
        page = open_colours(
            current_notebook(),
            current_result_cache(),
            instrument_id,
            form.q.data or "",
            names=current_writing().names,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return _show(form, instrument, None), error.status
    return look_again(_show(form, instrument, page), page.working)


def _show(form: ColoursForm, instrument: Instrument, page: ColourPage | None) -> str:
    return render_template("finder/colours.html", form=form, instrument=instrument, page=page)
