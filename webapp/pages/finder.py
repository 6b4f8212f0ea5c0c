"""Pages of the finder: what to try next for a target. All of it is predicted, and says so."""

from flask import make_response, render_template, request
from werkzeug.wrappers import Response

from analysis.finder.explanations import WORTH_TRYING_WORDS
from webapp.forms.entries import add_refusal
from webapp.forms.finder import WishesForm
from webapp.notebook.charts.pdf.legend import CAUTION
from webapp.notebook.finder.suggesting import SuggestionPage, WishList, find_suggestions
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.result_cache import Working
from webapp.notebook.store.rows import Instrument
from webapp.notebook.takes.playback import find_tones
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing

LOOK_AGAIN_S = 3


def suggest(instrument_id: int) -> Response | tuple[str, int]:
    """Suggest what to try next for a target."""
    instrument = open_instrument(current_notebook(), instrument_id)
    form = WishesForm(request.args)
    form.offer_keys(instrument.layout)
    if not form.validate():
        return _show(form, instrument, None), 422
    if not (form.q.data or "").strip():
        return make_response(_show(form, instrument, None))
    try:
        page = find_suggestions(
            current_notebook(),
            current_result_cache(),
            instrument_id,
            form.q.data or "",
            read_wish_list(form),
            names=current_writing().names,
        )
    except FieldRefused as error:
        add_refusal(form, error)
        return _show(form, instrument, None), error.status
    return look_again(_show(form, instrument, page), page.working)


def read_wish_list(form: WishesForm) -> WishList:
    """Read the wishes of a form that is in order."""
    return WishList(
        tolerance_cents=current_writing().tolerance_cents,
        has_half_holes=bool(form.halves.data),
        most_changes=int(form.changes.data),
        must_be_free=frozenset(form.free.data or ()),
        must_be_down=frozenset(form.down.data or ()),
        colour=form.colour.data or "",
        before=form.before.data or "",
        after=form.after.data or "",
    )


def look_again(page: str, working: Working | None) -> Response:
    """Answer with a page; while something is computed, the browser comes back by itself."""
    answer = make_response(page)
    if working is not None:
        answer.headers["Refresh"] = str(LOOK_AGAIN_S)
    return answer


def _show(form: WishesForm, instrument: Instrument, page: SuggestionPage | None) -> str:
    tones = None
    if page is not None:
        tones = find_tones(
            form.q.data or "",
            page.written,
            transposition=instrument.transposition,
            tuning=instrument.tuning,
            names=current_writing().names,
        )
    return render_template(
        "finder/suggestions.html",
        form=form,
        instrument=instrument,
        page=page,
        tones=tones,
        worth_trying_words=WORTH_TRYING_WORDS,
        caution=CAUTION,
    )
