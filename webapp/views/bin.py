"""The bin: delete, restore, empty."""

from typing import Any

from flask import Blueprint, flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from webapp.forms import PressForm
from webapp.presenting import current_notebook
from webapp.services.bin import empty_bin, list_bin, put_in_bin, restore

blueprint = Blueprint("bin", __name__, url_prefix="/bin")


@blueprint.get("/")
def show() -> str:
    """Show what lies in the bin."""
    return render_template("bin.html", contents=list_bin(current_notebook()), form=PressForm())


@blueprint.post("/<kind>/<int:row_id>")
def put(kind: str, row_id: int) -> Response:
    """Put something in the bin; the next page offers the way back."""
    put_in_bin(current_notebook(), kind, row_id)
    flash(url_for("bin.put_back", kind=kind, row_id=row_id), f"binned {kind}")
    return redirect(url_for("start.show"))


@blueprint.post("/<kind>/<int:row_id>/restore")
def put_back(kind: str, row_id: int) -> Response:
    """Take something out of the bin."""
    restore(current_notebook(), kind, row_id)
    flash(f"The {kind} is back.")
    number: dict[str, Any] = {f"{kind}_id": row_id}
    return redirect(url_for(f"{kind}s.show", **number))


@blueprint.post("/empty")
def empty() -> Response:
    """Remove for good what lies in the bin."""
    removed = empty_bin(current_notebook())
    flash(f"The bin is empty; {removed} recordings were removed for good.")
    return redirect(url_for("bin.show"))
