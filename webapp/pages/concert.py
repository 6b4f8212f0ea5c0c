"""The day of the concert: one page that lies on the tablet without network, one file to print."""

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from analysis.paper import PaperError
from webapp.notebook.concert.opening import Conditions, open_concert
from webapp.notebook.concert.printing import print_concert
from webapp.notebook.store.errors import FieldRefused
from webapp.presenting.words import current_notebook, write_as

Answer = str | AnyResponse | tuple[str, int]


def show(piece_id: int) -> Answer:
    """Show the pages, the sheet and the warm-up; with another tuning A or tempo what changes."""
    conditions = Conditions(request.args.get("a_hz", ""), request.args.get("beats", ""))
    wanted = request.args.get("instrument", type=int)
    refused: dict[str, str] = {}
    try:
        try:
            view = open_concert(current_notebook(), piece_id, wanted, conditions)
        except FieldRefused as error:
            if error.field not in ("a_hz", "beats"):
                raise
            refused[error.field] = str(error)
            view = open_concert(current_notebook(), piece_id, wanted)
    except FieldRefused as error:
        flash(str(error))
        return redirect(url_for("pieces.change", piece_id=piece_id))
    write_as(view.own.writing)
    return render_template(
        "concert/show.html",
        view=view,
        instrument=view.own.instruments[0],
        conditions=conditions,
        refused=refused,
    ), 422 if refused else 200


def export(piece_id: int) -> Answer:
    """Hand out all of it as one file to print."""
    try:
        pdf = print_concert(current_notebook(), piece_id, request.args.get("instrument", type=int))
    except (FieldRefused, PaperError) as error:
        flash(str(error))
        return redirect(url_for("pieces.show", piece_id=piece_id))
    answer = Response(pdf.content, mimetype="application/pdf")
    answer.headers["Content-Disposition"] = f'attachment; filename="{pdf.file_name}"'
    return answer
