"""Compare two fingerings of one instrument."""

from flask import render_template, request

from webapp.notebook.fingerings.comparing import compare
from webapp.notebook.instruments.instruments import choose_instruments
from webapp.notebook.store.errors import FieldRefused
from webapp.presenting.words import current_notebook


def show() -> str | tuple[str, int]:
    """Show two fingerings side by side, what differs, and the way between them."""
    notebook = current_notebook()
    chosen = {name: request.args.get(name, "") for name in ("first", "second")}
    number = request.args.get("instrument", type=int)
    problem = ""
    try:
        found = compare(notebook, chosen["first"], chosen["second"], instrument_id=number)
    except FieldRefused:
        problem = "That fingering is not there on this instrument. Choose another one of the list."
        found = compare(notebook, "", "", instrument_id=number)
    if found is None and not problem and len(instruments := choose_instruments(notebook)) == 1:
        found = compare(notebook, "", "", instrument_id=instruments[0].id)
    if found is None:
        return render_template(
            "compare.html", found=None, instruments=choose_instruments(notebook), problem=problem
        ), 422 if problem else 200
    page = render_template(
        "compare.html",
        found=found,
        chosen=chosen,
        groups=found.groups,
        heard=found.playback,
        problem=problem,
    )
    return page, 422 if problem else 200
