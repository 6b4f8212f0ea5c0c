"""The plan for a whole range."""

from flask import make_response, render_template, request
from werkzeug.wrappers import Response

from webapp.forms.entries import add_refusal
from webapp.forms.finder import PlanForm
from webapp.notebook.finder.plans import PlanOrder, PlanPage, open_plan
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.rows import Instrument
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing


def show(instrument_id: int) -> Response | tuple[str, int]:
    """Show the form; with a grid in the address, the plan too."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = PlanForm(request.args)
    if not form.validate():
        return _show(form, instrument, None), 422
    if "grid" not in request.args:
        return make_response(_show(form, instrument, None))
    writing = current_writing()
    order = PlanOrder(
        int(form.grid.data),
        form.low.data or "",
        form.high.data or "",
        writing.tolerance_cents,
        writing.accidentals,
    )
    try:
        page = open_plan(
            current_notebook(),
            current_result_cache(),
            instrument_id,
            order,
            names=writing.names,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return _show(form, instrument, None), error.status
    return look_again(_show(form, instrument, page), page.working)


def _show(form: PlanForm, instrument: Instrument, page: PlanPage | None) -> str:
    return render_template("finder/plan.html", form=form, instrument=instrument, page=page)
