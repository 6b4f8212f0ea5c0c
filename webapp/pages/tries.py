"""The try list: suggestions that the player takes up, and what becomes of them."""

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.finder.strategies import Strategy
from analysis.pitch import WrittenPitch
from webapp.forms.entries import PressForm
from webapp.forms.finder import DismissForm, SuggestionForm
from webapp.notebook.finder.tries import (
    SuggestionNote,
    open_try,
    open_try_list,
    settle_try,
    take_up,
)
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.rows import DismissReason, TryState
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import asked_again, asked_as, current_notebook

TRY, LIST, DISMISS = "try", "list", "dismiss"


def show(instrument_id: int) -> str:
    """Show the try list of an instrument."""
    tries = open_try_list(current_notebook(), instrument_id)
    return render_template(
        "finder/tries.html", tries=tries, instrument=tries.instrument, dismiss_form=DismissForm()
    )


def decide(instrument_id: int) -> Response | tuple[str, int]:
    """Try a suggestion, put it on the list, or dismiss it."""
    form, why = SuggestionForm(), DismissForm()
    open_instrument(current_notebook(), instrument_id)
    if not form.validate() or not why.validate():
        raise Refused(
            "This suggestion did not arrive as it was sent. Go back and choose it once more."
        )
    action = request.form.get("action", LIST)
    state = TryState.DISMISSED if action == DISMISS else TryState.WAITING
    note = SuggestionNote(
        target=form.target.data or "",
        keys=form.keys.data or "",
        base=form.base.data or "",
        strategy=Strategy(form.strategy.data),
    )
    suggestion_id = take_up(
        current_notebook(),
        current_result_cache(),
        instrument_id,
        note,
        state=state,
        reason=why.chosen if action == DISMISS else None,
        reason_notes=why.reason_notes.data or "" if action == DISMISS else "",
    )
    if action == TRY:
        return redirect(_log_page(suggestion_id))
    flash(_SAID[state])
    return redirect(_back(instrument_id, note.target))


def begin(suggestion_id: int) -> Response:
    """Try one of the list: open the log page filled in."""
    open_try(current_notebook(), suggestion_id)
    return redirect(_log_page(suggestion_id))


def keep(suggestion_id: int) -> Response:
    """Keep what was tried."""
    return _settle(suggestion_id, TryState.KEPT)


def wait(suggestion_id: int) -> Response:
    """Put a try back on the list."""
    return _settle(suggestion_id, TryState.WAITING)


def dismiss(suggestion_id: int) -> Response:
    """Dismiss a try, with the reason."""
    why = DismissForm()
    if not why.validate():
        raise FieldRefused("reason", "Choose one of the reasons of the list, then dismiss it.")
    return _settle(
        suggestion_id,
        TryState.DISMISSED,
        reason=why.chosen,
        reason_notes=why.reason_notes.data or "",
    )


def _settle(
    suggestion_id: int,
    state: TryState,
    *,
    reason: DismissReason | None = None,
    reason_notes: str = "",
) -> Response:
    PressForm().validate()
    row = settle_try(
        current_notebook(), suggestion_id, state, reason=reason, reason_notes=reason_notes
    )
    flash(_SAID[state])
    return redirect(url_for("tries.show", instrument_id=row.instrument_id))


_SAID = {
    TryState.WAITING: "It is on the try list.",
    TryState.KEPT: "Kept.",
    TryState.DISMISSED: "Dismissed; it will not be suggested again for this note.",
}


def _back(instrument_id: int, target: str) -> str:
    """Return to what was asked for when the suggestion was made."""
    asked: dict[str, Any] = asked_again()
    if "grid" in asked:
        return url_for("plan.show", instrument_id=instrument_id, **asked)
    wish = {**asked, "q": asked_as(WrittenPitch.from_canonical(target))}
    return url_for("finder.suggest", instrument_id=instrument_id, **wish)


def _log_page(suggestion_id: int) -> str:
    row = open_try(current_notebook(), suggestion_id)
    return url_for(
        "fingerings.log",
        instrument_id=row.instrument_id,
        target=asked_as(row.written),
        base=row.base_reference or None,
        suggestion=row.id,
    )
