"""Layouts: look at them, print their ordinary fingerings, make one of your own."""

from collections.abc import Callable

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from analysis.keywork import Layout, LayoutError, read_layout, write_layout
from webapp.forms.entries import LayoutForm, read_count
from webapp.notebook.charts.ordinary_charts import make_ordinary_chart
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.instruments.layout_changes import change_layout
from webapp.notebook.instruments.layouts import (
    LayoutEntry,
    add_layout,
    list_layouts,
    open_layout,
    open_own_layout,
    propose_layout,
    remove_layout,
    restore_layout,
)
from webapp.notebook.store.errors import FieldRefused, StaleEdit
from webapp.pages.layout_files import read_layout_file
from webapp.pages.layout_problems import LayoutProblem, problem_of
from webapp.presenting.words import current_notebook, current_writing


def index() -> str:
    """List the layouts with their pictures."""
    return render_template("layouts/index.html", layouts=list_layouts(current_notebook()))


def show(layout_id: str) -> str:
    """Show one layout: its picture, its keys and what they are called."""
    return render_template("layouts/show.html", entry=open_layout(current_notebook(), layout_id))


def chart(layout_id: str) -> Response:
    """Print the ordinary fingerings of a layout."""
    entry = open_layout(current_notebook(), layout_id)
    paper = Paper.LETTER if request.args.get("paper") == Paper.LETTER.value else Paper.A4
    made = make_ordinary_chart(entry.layout, paper=paper, writing=current_writing())
    return _attachment(made.pdf, made.file_name, "application/pdf")


def export(layout_id: str) -> Response:
    """Hand out a layout as a file, written in full."""
    layout = open_layout(current_notebook(), layout_id).layout
    return _attachment(write_layout(layout).encode(), f"{layout.id}.toml", "application/toml")


def add() -> str | Response | tuple[str, int]:
    """Make a layout of your own from another one, or from a file."""
    form = LayoutForm()
    if not form.is_submitted():
        start_from = request.args.get("from", "soprano-17-6")
        form.toml.data = propose_layout(current_notebook(), start_from)
        return _editor(form, None)
    if request.form.get("action") in _TRIES:
        return _TRIES[request.form["action"]](form, None)
    try:
        layout_id = add_layout(current_notebook(), form.toml.data or "")
    except (LayoutError, FieldRefused) as error:
        return _editor(form, None, problem=problem_of(error, form.toml.data or "")), 422
    flash("The layout is kept. An instrument can have it now.")
    return redirect(url_for("layouts.show", layout_id=layout_id))


def edit(layout_id: str) -> str:
    """Show the text of a layout of your own."""
    entry = open_own_layout(current_notebook(), layout_id)
    form = LayoutForm()
    form.toml.data, form.version.data = write_layout(entry.layout), str(entry.layout.version)
    return _editor(form, entry)


def change(layout_id: str) -> str | Response | tuple[str, int]:
    """Change a layout of your own."""
    entry = open_own_layout(current_notebook(), layout_id)
    form = LayoutForm()
    if request.form.get("action") in _TRIES:
        return _TRIES[request.form["action"]](form, entry)
    try:
        change_layout(
            current_notebook(),
            layout_id,
            form.toml.data or "",
            seen_version=read_count(form.version) or 0,
        )
    except (LayoutError, FieldRefused) as error:
        return _editor(form, entry, problem=problem_of(error, form.toml.data or "")), 422
    except StaleEdit as error:
        form.version.data = str(entry.layout.version)
        return _editor(form, entry, problem=LayoutProblem(str(error))), error.status
    flash("The layout is changed; what is logged on it was carried over.")
    return redirect(url_for("layouts.show", layout_id=layout_id))


def remove(layout_id: str) -> Response:
    """Put a layout of your own in the bin."""
    remove_layout(current_notebook(), layout_id)
    flash(url_for("layouts.restore", layout_id=layout_id), "binned layout")
    return redirect(url_for("layouts.index"))


def restore(layout_id: str) -> Response:
    """Take a layout of your own out of the bin."""
    restore_layout(current_notebook(), layout_id)
    flash("The layout is back.")
    return redirect(url_for("layouts.show", layout_id=layout_id))


def _load(form: LayoutForm, entry: LayoutEntry | None) -> str | tuple[str, int]:
    """Put the text of a file into the form; nothing is kept."""
    try:
        form.toml.data = read_layout_file(form.file.data)
    except FieldRefused as error:
        return _editor(form, entry, file_problem=str(error)), error.status
    return _look(form, entry)


def _look(form: LayoutForm, entry: LayoutEntry | None) -> str | tuple[str, int]:
    """Draw what the text says; nothing is kept."""
    text = form.toml.data or ""
    try:
        layout = read_layout(text)
    except LayoutError as error:
        return _editor(form, entry, problem=problem_of(error, text)), 422
    return _editor(form, entry, looked_at=layout)


# What the buttons do that keep nothing.
_TRIES: dict[str, Callable[[LayoutForm, LayoutEntry | None], str | tuple[str, int]]] = {
    "load": _load,
    "look": _look,
}


def _editor(
    form: LayoutForm,
    entry: LayoutEntry | None,
    *,
    problem: LayoutProblem | None = None,
    looked_at: Layout | None = None,
    file_problem: str = "",
) -> str:
    return render_template(
        "layouts/edit.html",
        form=form,
        entry=entry,
        problem=problem,
        looked_at=looked_at,
        file_problem=file_problem,
    )


def _attachment(content: bytes, name: str, media_type: str) -> Response:
    return Response(
        content,
        mimetype=media_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
