"""Fingerings of other players: bring an archive in, look at it, keep it, try what is theirs."""

from http import HTTPStatus

from flask import (
    Response,
    flash,
    redirect,
    render_template,
    request,
    send_file,
    url_for,
)
from werkzeug.wrappers import Response as AnyResponse

from webapp.forms.exchange import ArchiveForm, OntoForm
from webapp.guards.uploads import read_archive_upload
from webapp.notebook.csv_tables import write_csv
from webapp.notebook.exchange.arriving import open_arrived, take_in, throw_away
from webapp.notebook.exchange.comparing import preview_document
from webapp.notebook.exchange.keeping import keep_archive
from webapp.notebook.exchange.received import (
    COLUMNS,
    find_received_clip,
    list_senders,
    open_received,
    open_sender,
    pass_on,
    tabulate_sender,
)
from webapp.notebook.exchange.their_chart import print_theirs
from webapp.notebook.exchange.trying import accept_list, try_theirs
from webapp.notebook.instruments.instruments import choose_instruments
from webapp.notebook.store.errors import Refused, TooLarge
from webapp.pages.archive_answers import send_written
from webapp.pages.takes import MEDIA_TYPES
from webapp.presenting.words import current_notebook, current_writing


def show_all() -> str:
    """List everyone from whom something came, and take in another archive."""
    return _show_all(ArchiveForm())


def arrive() -> AnyResponse | tuple[str, int]:
    """Put an archive down and read it; nothing of it is kept yet."""
    form = ArchiveForm()
    if form.validate():
        try:
            upload = read_archive_upload(form.archive.data)
            sha256 = take_in(current_notebook(), upload.stream)
        except (Refused, TooLarge) as error:
            form.archive.errors = [str(error)]
            return _show_all(form), error.status
        return redirect(url_for("received.show_arrived", sha256=sha256), HTTPStatus.SEE_OTHER)
    return _show_all(form), 422


def show_arrived(sha256: str) -> str:
    """Show what an archive would bring in."""
    arrived = open_arrived(current_notebook(), sha256)
    preview = preview_document(current_notebook(), arrived.document)
    return render_template("exchange/arrived.html", preview=preview, sha256=sha256)


def keep(sha256: str) -> AnyResponse:
    """Keep it, as theirs."""
    arrived = open_arrived(current_notebook(), sha256)
    sender_id, preview = keep_archive(current_notebook(), arrived)
    throw_away(current_notebook(), sha256)
    name = preview.sender_name or "a player without a name"
    flash(f"Kept, as from “{name}”. It counts for none of your figures.")
    return redirect(url_for("received.show", sender_id=sender_id), HTTPStatus.SEE_OTHER)


def drop(sha256: str) -> AnyResponse:
    """Do not keep it."""
    throw_away(current_notebook(), sha256)
    flash("Nothing was kept.")
    return redirect(url_for("received.show_all"), HTTPStatus.SEE_OTHER)


def show(sender_id: int) -> str:
    """Show all that came from one player."""
    return _show(sender_id)


def table(sender_id: int) -> Response:
    """Hand out the same as a table; each row says whose it is."""
    page = open_sender(current_notebook(), sender_id)
    answer = Response(write_csv(COLUMNS, tabulate_sender(page)), mimetype="text/csv")
    name = f"received-{sender_id}.csv"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def chart(sender_id: int) -> Response:
    """Print what is on one of their instruments; each entry says whose it is."""
    page = open_sender(current_notebook(), sender_id)
    pdf = print_theirs(page, request.args.get("instrument", ""), writing=current_writing())
    answer = Response(pdf, mimetype="application/pdf")
    name = f"received-{sender_id}.pdf"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def pass_along(sender_id: int) -> AnyResponse:
    """Hand out what came from a player as an archive again, still as theirs."""
    return send_written(lambda file: pass_on(current_notebook(), sender_id, file))


def show_fingering(received_id: int) -> str:
    """Show one fingering of another player."""
    return _show_fingering(received_id)


def try_it(received_id: int) -> AnyResponse | tuple[str, int]:
    """Make an entry of my own from it."""
    form = OntoForm()
    number = form.instrument.data if form.validate() else None
    try:
        mine = try_theirs(current_notebook(), received_id, number or 0)
    except Refused as error:
        return _show_fingering(received_id, str(error)), error.status
    flash("It is an entry of your own now. Record it: their figure stays theirs.")
    return redirect(url_for("fingerings.show", fingering_id=mine), HTTPStatus.SEE_OTHER)


def clip(clip_id: int) -> Response:
    """Hand out a recording of theirs."""
    row, path = find_received_clip(current_notebook(), clip_id)
    return send_file(path, mimetype=MEDIA_TYPES[row.clip_format], conditional=True, etag=row.sha256)


def accept(sender_id: int, list_id: int) -> AnyResponse | tuple[str, int]:
    """Put a list of theirs on the list of today's practice."""
    form = OntoForm()
    number = form.instrument.data if form.validate() else None
    try:
        accepted = accept_list(current_notebook(), list_id, number or 0)
    except Refused as error:
        return _show(sender_id, str(error)), error.status
    words = "1 note is" if accepted.note_count == 1 else f"{accepted.note_count} notes are"
    left = accepted.without_fingering
    flash(
        f"{words} on your list."
        + (f" {accepted.left_out} more wait until there is room." if accepted.left_out else "")
        + (f" {left} without a fingering, since this instrument lacks keys." if left else "")
    )
    return redirect(
        url_for("practice.show", practice_id=accepted.practice_id), HTTPStatus.SEE_OTHER
    )


def _show_all(form: ArchiveForm) -> str:
    senders = list_senders(current_notebook())
    return render_template("exchange/index.html", senders=senders, form=form)


def _show(sender_id: int, problem: str = "") -> str:
    page = open_sender(current_notebook(), sender_id)
    instruments = choose_instruments(current_notebook())
    return render_template(
        "exchange/sender.html", page=page, instruments=instruments, problem=problem
    )


def _show_fingering(received_id: int, problem: str = "") -> str:
    page = open_received(current_notebook(), received_id)
    return render_template("exchange/fingering.html", page=page, problem=problem)
