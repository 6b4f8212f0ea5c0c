"""The head of every page: the instrument in use, the others, a practice that goes on."""

from flask import Flask, request, session
from jinja2 import Undefined

from webapp.notebook.practice.at_hand import AtHand, open_at_hand
from webapp.notebook.store.rows import Instrument
from webapp.presenting.words import current_notebook

IN_USE = "instrument"
"""In the cookie: the number of the instrument that this browser used last."""


def register(app: Flask) -> None:
    """Give the templates what lies at hand."""
    app.jinja_env.globals.update(find_at_hand=find_at_hand)


def find_at_hand(shown: Instrument | Undefined | None) -> AtHand:
    """Return what lies at hand on a page about an instrument, or about none.

    The instrument of a page is in use from then on in this browser, as is one that an address asks
    for by name; other pages show the one that was used last.
    """
    named = request.args.get("instrument", type=int)
    wanted = shown.id if isinstance(shown, Instrument) else named or session.get(IN_USE)
    found = open_at_hand(current_notebook(), wanted if isinstance(wanted, int) else None)
    is_chosen = found.current is not None and found.current.id == wanted
    if is_chosen and session.get(IN_USE) != wanted:
        session[IN_USE] = wanted
    return found
