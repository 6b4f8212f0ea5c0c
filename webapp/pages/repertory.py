"""Repertory of a player for composers and teachers: page, PDF and table."""

from io import BytesIO

from flask import make_response, render_template, request, send_file
from werkzeug.wrappers import Response

from webapp.forms.charts import RepertoryForm
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.charts.repertory import Repertory, open_repertory
from webapp.notebook.charts.repertory_chart import print_repertory
from webapp.notebook.charts.repertory_table import write_dynamics, write_repertory_table
from webapp.notebook.charts.repertory_words import (
    ABOUT_OPEN,
    ABOUT_STEPS,
    HOW_TO_READ,
    is_bold,
    name_interval,
    say_transposition,
    say_trill,
    write_cell,
)
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, write_as


def show(instrument_id: int) -> Response:
    """Show which steps and trills a player has."""
    page, form = _open(instrument_id)
    return look_again(_show(page, form), page.working)


def download(instrument_id: int) -> Response:
    """Print it; while trills are worked out, the page that comes back by itself."""
    page, form = _open(instrument_id)
    if page.working is not None:
        return look_again(_show(page, form), page.working)
    chart = print_repertory(page, writing=page.writing, paper=Paper(form.paper.data))
    answer = make_response(send_file(BytesIO(chart.pdf), mimetype="application/pdf", max_age=0))
    answer.headers["Content-Disposition"] = f'attachment; filename="{chart.file_name}"'
    return answer


def table(instrument_id: int) -> Response:
    """Hand out the same as a table; while trills are worked out, the page."""
    page, form = _open(instrument_id)
    if page.working is not None:
        return look_again(_show(page, form), page.working)
    answer = make_response(write_repertory_table(page))
    answer.mimetype = "text/csv"
    name = f"for-composers-{instrument_id}.csv"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer


def _open(instrument_id: int) -> tuple[Repertory, RepertoryForm]:
    form = RepertoryForm(request.args)
    if not form.validate():
        form = RepertoryForm(formdata=None)
    page = open_repertory(
        current_notebook(),
        current_result_cache(),
        instrument_id,
        steps_per_octave=int(form.grid.data),
    )
    write_as(page.writing)
    return page, form


def _show(page: Repertory, form: RepertoryForm) -> str:
    return render_template(
        "charts/repertory.html",
        page=page,
        form=form,
        instrument=page.instrument,
        about_steps=ABOUT_STEPS,
        about_open=ABOUT_OPEN,
        how_to_read=HOW_TO_READ,
        transposition=say_transposition(page.instrument),
        is_bold=is_bold,
        name_interval=name_interval,
        say_trill=say_trill,
        write_cell=write_cell,
        write_dynamics=write_dynamics,
    )
