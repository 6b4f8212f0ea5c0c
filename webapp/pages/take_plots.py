"""Plots of a take as files: levels over time and frequency, pitch trace, spectrum."""

from flask import Response, request

from webapp.notebook.csv_tables import write_csv
from webapp.notebook.takes.plots import (
    open_spectrum,
    open_trace,
    paint_levels,
    tabulate_spectrum,
    tabulate_trace,
)
from webapp.notebook.takes.takes import open_take
from webapp.presenting.plot_view import read_view, whole_view
from webapp.presenting.take_pictures import spectrum_picture, trace_picture
from webapp.presenting.words import current_notebook

TRACE_COLUMNS = ("time_s", "f0_hz", "offset_cents", "steady", "target", "recording")
SPECTRUM_COLUMNS = ("what", "partial", "freq_hz", "level_db", "target", "recording")


def levels(take_id: int) -> Response:
    """Hand out the levels of a part of a take as a picture."""
    measured = open_take(current_notebook(), take_id).take.measurement
    view = read_view(request.args, whole_view(measured.duration_s, measured.f0_hz))
    return Response(paint_levels(current_notebook(), take_id, view), mimetype="image/png")


def trace_svg(take_id: int) -> Response:
    """Hand out the trace as a drawing."""
    page, measured = open_trace(current_notebook(), take_id)
    assert page.target is not None  # a trace has a pitch
    drawn = trace_picture(measured, page.take, page.target)
    return _file(str(drawn), "image/svg+xml", f"take-{take_id}-trace.svg")


def trace_csv(take_id: int) -> Response:
    """Hand out the trace as a table."""
    page, measured = open_trace(current_notebook(), take_id)
    table = write_csv(TRACE_COLUMNS, tabulate_trace(page, measured))
    return _file(table, "text/csv", f"take-{take_id}-trace.csv")


def spectrum_svg(take_id: int) -> Response:
    """Hand out the spectrum as a drawing."""
    _, measured = open_spectrum(current_notebook(), take_id)
    drawn = spectrum_picture(measured)
    return _file(str(drawn), "image/svg+xml", f"take-{take_id}-spectrum.svg")


def spectrum_csv(take_id: int) -> Response:
    """Hand out the spectrum as a table."""
    page, measured = open_spectrum(current_notebook(), take_id)
    table = write_csv(SPECTRUM_COLUMNS, tabulate_spectrum(page, measured))
    return _file(table, "text/csv", f"take-{take_id}-spectrum.csv")


def _file(content: str, mimetype: str, name: str) -> Response:
    answer = Response(content, mimetype=mimetype)
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return answer
