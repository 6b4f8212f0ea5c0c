"""The page of trills and tremolos between two notes."""

from flask import make_response, render_template, request
from werkzeug.wrappers import Response

from webapp.forms.entries import add_refusal
from webapp.forms.finder import TrillForm
from webapp.notebook.finder.trills import TrillPage, open_trill
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing


def show(instrument_id: int) -> Response | tuple[str, int]:
    """Show the form; with two notes in the address, the pairs for them too."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = TrillForm(request.args)
    if not form.validate():
        return _show(form, instrument, None), 422
    first, second = (form.q.data or "").strip(), (form.to.data or "").strip()
    if not (first and second):
        return make_response(_show(form, instrument, None))
    try:
        page = open_trill(
            current_notebook(),
            current_result_cache(),
            instrument_id,
            first,
            second,
            names=current_writing().names,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return _show(form, instrument, None), error.status
    return look_again(_show(form, instrument, page), page.working)


def _show(form: TrillForm, instrument: Instrument, page: TrillPage | None) -> str:
    return render_template("finder/trill.html", form=form, instrument=instrument, page=page)
