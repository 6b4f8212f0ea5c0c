"""Sheets of a piece: print one, see what differs from those that were printed."""

from io import BytesIO

from flask import flash, redirect, render_template, send_file, url_for
from werkzeug.wrappers import Response

from analysis.pitch import SystemId
from webapp.forms.entries import PressForm
from webapp.forms.pieces import SheetForm
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.pieces.printing import SheetKind, forget_sheet, open_sheets, print_sheet
from webapp.notebook.store.errors import FieldRefused
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook, current_writing, write_as


def show(piece_id: int) -> str:
    """Show how to print a sheet, and what differs from those that were printed."""
    return _show(piece_id, SheetForm(formdata=None))


def _show(piece_id: int, form: SheetForm) -> str:
    page = open_sheets(current_notebook(), piece_id)
    write_as(page.writing)
    return render_template("pieces/sheets.html", page=page, form=form)


def make(piece_id: int) -> Response | tuple[str, int]:
    """Print a sheet and remember what stands on it."""
    form = SheetForm()
    if not form.validate():
        return _show(piece_id, form), 422
    writing = current_writing()
    if form.signs.data:
        writing = writing.with_signs(SystemId(form.signs.data))
    try:
        printed = print_sheet(
            current_notebook(),
            piece_id,
            paper=Paper(form.paper.data),
            kind=SheetKind(form.kind.data),
            writing=writing,
        )
    except FieldRefused as error:
        flash(show_refusal(error))
        place = "piece_sheets.show" if error.field == "kind" else "pieces.change"
        return redirect(url_for(place, piece_id=piece_id))
    answer = send_file(BytesIO(printed.pdf), mimetype="application/pdf", max_age=0)
    answer.headers["Content-Disposition"] = f'attachment; filename="{printed.file_name}"'
    return answer


def forget(piece_id: int, sheet_id: int) -> Response:
    """Forget a sheet that was thrown away."""
    if PressForm().validate():
        forget_sheet(current_notebook(), piece_id, sheet_id)
    return redirect(url_for("piece_sheets.show", piece_id=piece_id))
