"""The bin: delete, restore, empty."""

from collections.abc import Callable

from flask import flash, jsonify, redirect, render_template, url_for
from werkzeug.wrappers import Response

from webapp.forms.entries import PressForm
from webapp.notebook.loops.loops import find_pair_figure, open_loop
from webapp.notebook.safekeeping.bin import empty_bin, list_bin, put_in_bin, restore
from webapp.pages.take_standings import describe_beside
from webapp.presenting.loops import describe_figure
from webapp.presenting.words import current_notebook


def show() -> str:
    """Show what lies in the bin."""
    return render_template("bin.html", contents=list_bin(current_notebook()), form=PressForm())


def put(kind: str, row_id: int) -> Response:
    """Put something in the bin; the next page offers the way back."""
    place = put_in_bin(current_notebook(), kind, row_id)
    flash(url_for("bin.put_back", kind=kind, row_id=row_id), f"binned {kind}")
    if place is None:
        return redirect(url_for("pieces.index" if kind == "piece" else "start.show"))
    return redirect(_page_of(place.kind, place.row_id))


def put_back(kind: str, row_id: int) -> Response:
    """Take something out of the bin."""
    if restore(current_notebook(), kind, row_id):
        flash(f"The {kind} is back.")
        return redirect(_page_of(kind, row_id))
    flash(f"The {kind} is back, but what it belongs to still lies in the bin. Put that back too.")
    return redirect(url_for("bin.show"))


def put_for_script(kind: str, row_id: int) -> Response:
    """Put something in the bin; the page that asked offers the way back itself."""
    put_in_bin(current_notebook(), kind, row_id)
    return _answer(kind, row_id, is_binned=True)


def put_back_for_script(kind: str, row_id: int) -> Response:
    """Take something out of the bin, for the page that put it there."""
    restore(current_notebook(), kind, row_id)
    return _answer(kind, row_id, is_binned=False)


def _answer(kind: str, row_id: int, *, is_binned: bool) -> Response:
    beside = describe_beside(row_id) if kind == "take" else {}
    if kind == "loop":
        figure = find_pair_figure(current_notebook(), row_id)
        beside = {"pooled_loop": describe_figure(figure)}
    return jsonify(kind=kind, id=row_id, is_binned=is_binned, **beside)


def empty() -> Response:
    """Remove for good what lies in the bin."""
    removed = empty_bin(current_notebook())
    recordings = "1 recording was" if removed == 1 else f"{removed} recordings were"
    flash(f"The bin is empty; {recordings} removed for good.")
    return redirect(url_for("bin.show"))


_PAGES: dict[str, Callable[[int], str]] = {
    "instrument": lambda row_id: url_for("instruments.show", instrument_id=row_id),
    "unsorted takes of instrument": lambda row_id: url_for(
        "sorting.unsorted", instrument_id=row_id
    ),
    "recordings of instrument": lambda row_id: url_for("recordings.show_all", instrument_id=row_id),
    "loops of instrument": lambda row_id: url_for("loops.show_all", instrument_id=row_id),
    "loop": lambda row_id: url_for(
        "loops.show_all", instrument_id=open_loop(current_notebook(), row_id)[0].instrument_id
    ),
    "recording": lambda row_id: url_for("recordings.show", recording_id=row_id),
    "fingering": lambda row_id: url_for("fingerings.show", fingering_id=row_id),
    "piece": lambda row_id: url_for("pieces.show", piece_id=row_id),
    "sender": lambda row_id: url_for("received.show", sender_id=row_id),
    "senders": lambda _: url_for("received.show_all"),
    "take": lambda row_id: url_for("takes.show", take_id=row_id),
}


def _page_of(kind: str, row_id: int) -> str:
    return _PAGES[kind](row_id)
