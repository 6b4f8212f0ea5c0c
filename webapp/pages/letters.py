"""The letter to the composer of a piece: read it, edit it, take it as PDF or text."""

from io import BytesIO

from flask import Response, flash, redirect, render_template, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from webapp.forms.entries import add_refusal
from webapp.forms.pieces import LetterForm
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.pieces.letters import keep_letter, open_letter, print_letter
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.presenting.words import current_notebook


def show(piece_id: int, instrument_id: int) -> str | AnyResponse | tuple[str, int]:
    """Show the letter to be edited, and keep it."""
    form, status, stale = LetterForm(), 200, ""
    if form.is_submitted():
        status = 422
        if form.validate():
            try:
                _keep(piece_id, instrument_id, form)
            except FieldRefused as error:
                add_refusal(form, error)
            except StaleEdit as error:
                stale, status = str(error), error.status
            else:
                flash("The letter is kept.")
                return redirect(
                    url_for("letters.show", piece_id=piece_id, instrument_id=instrument_id)
                )
    page = open_letter(current_notebook(), piece_id, instrument_id)
    if not form.is_submitted():
        form.text.data = page.text
    form.version.data = str(page.version)
    return render_template("pieces/letter.html", page=page, form=form, stale=stale), status


def again(piece_id: int, instrument_id: int) -> AnyResponse:
    """Let the notebook write the letter again; one that was changed meanwhile stays."""
    form = LetterForm()
    if form.validate():
        form.text.data = ""
        try:
            _keep(piece_id, instrument_id, form)
        except StaleEdit as error:
            flash(str(error))
        else:
            flash("Written again from the piece.")
    return redirect(url_for("letters.show", piece_id=piece_id, instrument_id=instrument_id))


def _keep(piece_id: int, instrument_id: int, form: LetterForm) -> None:
    seen = str(form.version.data or "")
    version = int(seen) if seen.isdecimal() and len(seen) < 10 else 0
    text = form.text.data or ""
    keep_letter(current_notebook(), piece_id, instrument_id, text, seen_version=version)


def as_pdf(piece_id: int, instrument_id: int, paper: str) -> Response:
    """Hand out the letter as PDF."""
    pdf = print_letter(current_notebook(), piece_id, instrument_id, Paper(paper))
    return send_file(BytesIO(pdf), mimetype="application/pdf", download_name="letter.pdf")


def as_text(piece_id: int, instrument_id: int) -> Response:
    """Hand out the letter as text."""
    text = open_letter(current_notebook(), piece_id, instrument_id).text
    return send_file(
        BytesIO(text.encode("utf-8")),
        mimetype="text/plain",
        as_attachment=True,
        download_name="letter.txt",
    )
