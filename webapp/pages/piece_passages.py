"""Passages of a piece: choose bars and tempo, see the fingerings, fix one by a touch."""

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.planning import Emphasis
from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.pieces import PassageForm
from webapp.notebook.pieces.chosen_passages import (
    FixWish,
    PassageDraft,
    choose_passage,
    fix_in_passage,
    let_go_in_passage,
    mark_seen,
    open_passage,
    open_passages,
    remove_passage,
)
from webapp.notebook.pieces.passage_notes import find_tempo
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import read_row_number
from webapp.notebook.store.result_cache import Working
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, write_as

Answer = str | Response | tuple[str, int]


def index(piece_id: int, instrument_id: int) -> str:
    """List the passages of a piece, with the form for another."""
    return _show_index(piece_id, instrument_id, PassageForm(formdata=None))


def _show_index(piece_id: int, instrument_id: int, form: PassageForm) -> str:
    page = open_passages(current_notebook(), piece_id, instrument_id)
    write_as(page.writing)
    tempo = find_tempo(page.part, 0) if page.part.bars else None
    return render_template(
        "pieces/passages.html", page=page, instrument=page.instrument, form=form, tempo=tempo
    )


def choose(piece_id: int, instrument_id: int) -> Answer:
    """Choose bars as a passage, or change its tempo."""
    form = PassageForm()
    if form.validate():
        draft = PassageDraft(form.bars.data or "", form.tempo.number, Emphasis(form.emphasis.data))
        try:
            passage_id = choose_passage(
                current_notebook(), current_result_cache(), piece_id, instrument_id, draft
            )
        except FieldRefused as error:
            add_refusal(form, error)
        else:
            return redirect(url_for(".show", piece_id=piece_id, passage_id=passage_id))
    return _show_index(piece_id, instrument_id, form), 422


def show(piece_id: int, passage_id: int) -> Response:
    """Show a passage as it is fingered now."""
    page = open_passage(current_notebook(), current_result_cache(), piece_id, passage_id)
    write_as(page.writing)
    form = PassageForm(
        formdata=None,
        bars=page.bars,
        tempo=page.row.quarters_per_minute,
        emphasis=page.row.emphasis,
    )
    shown = render_template("pieces/passage.html", page=page, instrument=page.instrument, form=form)
    return look_again(shown, page.missing if isinstance(page.missing, Working) else None)


def fix(piece_id: int, passage_id: int) -> Response:
    """Fix a fingering for a note of a passage."""
    index = read_row_number(request.form.get("note", ""))
    wish = FixWish(
        index, request.form.get("keys", "")[:400], request.form.get("for") == "everywhere"
    )
    try:
        fix_in_passage(current_notebook(), current_result_cache(), piece_id, passage_id, wish)
    except FieldRefused as error:
        flash(str(error))
    return _back(piece_id, passage_id, f"note-{index}")


def let_go(piece_id: int, passage_id: int, fixed_id: int) -> Response:
    """Let go of a fixed fingering."""
    if PressForm().validate():
        let_go_in_passage(current_notebook(), piece_id, passage_id, fixed_id)
    return _back(piece_id, passage_id, f"note-{request.args.get('note', type=int) or 0}")


def seen(piece_id: int, passage_id: int) -> Response:
    """Keep that the player has seen what differs."""
    if PressForm().validate():
        mark_seen(current_notebook(), current_result_cache(), piece_id, passage_id)
    return _back(piece_id, passage_id)


def remove(piece_id: int, passage_id: int) -> Response:
    """Forget a passage."""
    page = open_passage(current_notebook(), current_result_cache(), piece_id, passage_id)
    if PressForm().validate():
        remove_passage(current_notebook(), piece_id, passage_id)
    return redirect(url_for(".index", piece_id=piece_id, instrument_id=page.instrument.id))


def _back(piece_id: int, passage_id: int, anchor: str | None = None) -> Response:
    return redirect(url_for(".show", piece_id=piece_id, passage_id=passage_id, _anchor=anchor))
