"""Two-note loops: what was recorded of each change, in JSON from the stand, and practising one."""

from functools import partial
from http import HTTPStatus

from flask import jsonify, render_template, send_file, url_for
from werkzeug.wrappers import Response

from webapp.forms.entries import LoopEndsForm, PressForm, UploadedLoopForm
from webapp.guards.uploads import read_clip
from webapp.notebook.loops.figures import find_figure
from webapp.notebook.loops.loops import (
    LoopNote,
    find_loop_clip,
    keep_loop,
    open_loop,
    open_loops,
)
from webapp.notebook.practice.practice_targets import add_loop
from webapp.notebook.takes.takes import expect_take, moment_of_day
from webapp.pages.practice_list import to_the_stand
from webapp.pages.take_uploads import first_problem
from webapp.pages.takes import MEDIA_TYPES
from webapp.presenting.loops import describe_figure, tell_oddities, tell_rate, tell_ways
from webapp.presenting.words import current_notebook, write_as


def show_all(instrument_id: int) -> str:
    """Show the changes that loops were recorded of."""
    page = open_loops(current_notebook(), instrument_id)
    write_as(page.writing)
    return render_template(
        "practice/loops.html", page=page, instrument=page.instrument, form=PressForm(formdata=None)
    )


def clip(loop_id: int) -> Response:
    """Hand out the recording of a loop."""
    row, path = find_loop_clip(current_notebook(), loop_id)
    return send_file(path, mimetype=MEDIA_TYPES[row.clip_format], conditional=True, etag=row.sha256)


def keep(instrument_id: int) -> Response:
    """Keep and measure a loop; the same recording again is answered with what is there."""
    form = UploadedLoopForm()
    if not form.validate():
        raise first_problem(form)
    upload = read_clip(form.clip.data)
    note = LoopNote(
        form.recorded_at.moment or moment_of_day(form.recorded_at.day), form.take_tuning_a_hz.number
    )
    loop_id, is_new = keep_loop(
        current_notebook(), instrument_id, _read_ends(form), upload.stream, note
    )
    row, pooled = open_loop(current_notebook(), loop_id)
    own = find_figure([row])
    answer = jsonify(
        take=loop_id,
        loop={
            "figure": f"{row.rate_hz:.1f} a second, {own.evenness}",
            "ways": tell_ways(own),
            "words": " ".join(filter(None, (f"{tell_rate(own)}.", tell_oddities(row)))),
        },
        pooled_loop=describe_figure(pooled),
        url=url_for("loops.show_all", instrument_id=instrument_id),
    )
    answer.status_code = HTTPStatus.CREATED if is_new else HTTPStatus.OK
    answer.call_on_close(expect_take)
    return answer


def practise(instrument_id: int) -> Response:
    """Go to the stand with one loop: in the open practice, or in one that begins now."""
    form = LoopEndsForm()
    if not form.validate():
        raise first_problem(form)
    return to_the_stand(instrument_id, partial(add_loop, ends=_read_ends(form)), shows_last=True)


def _read_ends(form: LoopEndsForm) -> tuple[tuple[str, str], tuple[str, str]]:
    return (form.note.data or "", form.keys.data or ""), (
        form.second.data or "",
        form.second_keys.data or "",
    )
