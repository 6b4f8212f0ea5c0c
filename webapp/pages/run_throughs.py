"""Run-throughs of a piece: play a passage, see each note in context beside its held figure."""

from flask import Response, flash, redirect, render_template, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from webapp.forms.entries import PressForm, add_refusal
from webapp.forms.pieces import RunForm
from webapp.guards.uploads import read_clip
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.practising import practise_run
from webapp.notebook.pieces.run_throughs import (
    LONGEST_RUN_S,
    find_run_clip,
    keep_run,
    open_run,
    open_runs,
    remove_run,
)
from webapp.notebook.store.errors import FieldRefused, Refused, TooLarge
from webapp.pages.refusal_links import with_link
from webapp.pages.takes import MEDIA_TYPES
from webapp.presenting.notes import show_refusal
from webapp.presenting.words import current_notebook

MOST_ROWS = 40


def show_all(piece_id: int, instrument_id: int) -> str | AnyResponse | tuple[str, int]:
    """List the run-throughs of a piece on an instrument, and take in another one."""
    form, status = RunForm(), 200
    if form.is_submitted():
        status = 422
        if form.validate():
            try:
                run_id = _keep(piece_id, instrument_id, form)
            except FieldRefused as error:
                add_refusal(form, error)
            except (Refused, TooLarge) as error:
                form.clip.errors = [with_link(error)]
                status = error.status
            else:
                return redirect(url_for("run_throughs.show", piece_id=piece_id, run_id=run_id))
    page = open_runs(current_notebook(), piece_id, instrument_id)
    return (
        render_template(
            "pieces/run_throughs.html", page=page, form=form, longest_s=round(LONGEST_RUN_S)
        ),
        status,
    )


def show(piece_id: int, run_id: int) -> str:
    """Show a run-through: what was out of tune first, and what it may come from."""
    page = open_run(current_notebook(), piece_id, run_id)
    return render_template(
        "pieces/run_through.html", page=page, instrument=page.instrument, most=MOST_ROWS
    )


def practise(piece_id: int, run_id: int) -> AnyResponse:
    """Go to the stand with what was out of tune, wrong or not heard."""
    here = redirect(url_for("run_throughs.show", piece_id=piece_id, run_id=run_id))
    if not PressForm().validate():
        return here
    try:
        practice_id, count = practise_run(current_notebook(), piece_id, run_id)
    except Refused as error:
        flash(show_refusal(error))
        return here
    flash("1 note is on the list." if count == 1 else f"{count} notes are on the list.")
    return redirect(url_for("stand.show", practice_id=practice_id))


def clip(piece_id: int, run_id: int) -> Response:
    """Hand out the recording of a run-through."""
    run, path = find_run_clip(current_notebook(), piece_id, run_id)
    return send_file(path, mimetype=MEDIA_TYPES[run.clip_format], conditional=True, etag=run.sha256)


def remove(piece_id: int, run_id: int) -> AnyResponse:
    """Remove a run-through with its recording."""
    instrument_id = open_run(current_notebook(), piece_id, run_id).instrument.id
    if PressForm().validate():
        remove_run(current_notebook(), piece_id, run_id)
        flash("The run-through and its recording are removed.")
    return redirect(
        url_for("run_throughs.show_all", piece_id=piece_id, instrument_id=instrument_id)
    )


def _keep(piece_id: int, instrument_id: int, form: RunForm) -> int:
    upload = read_clip(form.clip.data)
    stretch = Stretch(form.first_bar.data, form.last_bar.data, form.tempo.number)
    return keep_run(current_notebook(), piece_id, instrument_id, stretch, upload.stream)
