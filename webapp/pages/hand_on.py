"""Hand fingerings on: choose them, say what goes along, take the file."""

from dataclasses import dataclass
from typing import IO

from flask import Response, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from analysis.finder.strategies import Strategy
from webapp.forms.entries import add_refusal
from webapp.forms.exchange import SelectionForm, SendingForm
from webapp.notebook.exchange.exporting import make_export
from webapp.notebook.exchange.hand_outs import HandOutHeading, collect_hand_out
from webapp.notebook.exchange.selecting import (
    SHOWN_AT_MOST,
    Selected,
    Selection,
    Sending,
    open_selection,
)
from webapp.notebook.instruments.instruments import open_instrument
from webapp.notebook.store.errors import FieldRefused, Refused
from webapp.notebook.store.fetching import read_row_number
from webapp.pages.archive_answers import send_written
from webapp.presenting.hand_out import render_hand_out
from webapp.presenting.words import current_notebook, current_writing


@dataclass(frozen=True, slots=True)
class HandOnPage:
    """Content of the page; without `selected` the filters say why."""

    form: SelectionForm
    sending: SendingForm
    selected: Selected | None
    chosen: frozenset[int] | None = None

    @property
    def is_by_hand(self) -> bool:
        """Whether there are so few that each can be ticked."""
        return self.selected is not None and self.selected.count <= SHOWN_AT_MOST

    def is_chosen(self, number: int) -> bool:
        """Whether a fingering is ticked: all are, until the player says otherwise."""
        return self.chosen is None or number in self.chosen


def show(instrument_id: int) -> str | tuple[str, int]:
    """Show what a selection holds, and what may go along."""
    return _show(instrument_id)


def download(instrument_id: int) -> AnyResponse | tuple[str, int]:
    """Hand out the archive of what is ticked."""
    sending = SendingForm()
    if not sending.validate():
        return _refuse(instrument_id, sending)
    selection = _selection(SelectionForm(request.args), instrument_id, _ticked())

    def write(file: IO[bytes]) -> str:
        names = current_writing().names
        make_export(current_notebook(), file, selection, _sending(sending), names=names)
        return f"fingerings-{instrument_id}.zip"

    try:
        return send_written(write)
    except FieldRefused as error:
        if hasattr(sending, error.field):
            add_refusal(sending, error)
    except Refused as error:
        sending.form_errors.append(str(error))
    return _refuse(instrument_id, sending)


def page(instrument_id: int) -> AnyResponse | tuple[str, int]:
    """Hand out what is ticked as one HTML file, for somebody without this program."""
    sending = SendingForm()
    if not sending.validate():
        return _refuse(instrument_id, sending)
    selection = _selection(SelectionForm(request.args), instrument_id, _ticked())
    heading = HandOutHeading(
        sending.list_title.data or "",
        sending.player_name.data or "",
        bool(sending.recordings.data),
        bool(sending.notes.data),
    )
    try:
        hand_out = collect_hand_out(
            current_notebook(), selection, heading, names=current_writing().names
        )
    except FieldRefused:
        return _refuse(instrument_id, sending)
    except Refused as error:
        sending.form_errors.append(str(error))
        return _refuse(instrument_id, sending)
    answer = Response(render_hand_out(hand_out), mimetype="text/html")
    name = f"fingerings-{instrument_id}.html"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def _show(instrument_id: int, sending: SendingForm | None = None) -> str | tuple[str, int]:
    form, chosen = SelectionForm(request.args), _ticked()
    selected, status = None, 422
    if form.validate():
        try:
            selected = open_selection(
                current_notebook(), _selection(form, instrument_id), current_writing().names
            )
            status = 200
        except FieldRefused as error:
            add_refusal(form, error)
    if sending is None:
        name = selected.player_name if selected else ""
        title = selected.piece_title if selected else ""
        sending = SendingForm(formdata=None, player_name=name, list_title=title)
    instrument = (
        selected.instrument if selected else open_instrument(current_notebook(), instrument_id)
    )
    page = HandOnPage(form, sending, selected, chosen)
    shown = render_template("exchange/hand_on.html", page=page, instrument=instrument)
    return shown if status == 200 else (shown, status)


def _refuse(instrument_id: int, sending: SendingForm) -> tuple[str, int]:
    shown = _show(instrument_id, sending)
    return (shown, 422) if isinstance(shown, str) else shown


def _ticked() -> frozenset[int] | None:
    if "by-hand" not in request.form:
        return None
    return frozenset(read_row_number(each) for each in request.form.getlist("fingering"))


def _selection(
    form: SelectionForm, instrument_id: int, chosen: frozenset[int] | None = None
) -> Selection:
    return Selection(
        instrument_id,
        low=form.low.data or "",
        high=form.high.data or "",
        tag=form.tag.data or "",
        strategy=Strategy(form.strategy.data) if form.strategy.data else None,
        is_measured_only=bool(form.measured.data),
        is_choice_only=bool(form.mine.data),
        is_without_half_holes=bool(form.whole.data),
        fingering_ids=chosen,
        practice_id=read_row_number(form.practice.data or "") or None,
        piece_id=read_row_number(form.piece.data or "") or None,
    )


def _sending(form: SendingForm) -> Sending:
    return Sending(
        form.player_name.data or "",
        bool(form.recordings.data),
        form.list_title.data or "",
        form.message.data or "",
        bool(form.notes.data),
    )
