"""Print a personal chart."""

from collections.abc import Sequence
from http import HTTPStatus

from flask import redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response

from analysis.finder import Strategy
from analysis.pitch import SystemId
from webapp.forms.charts import ChartForm
from webapp.forms.entries import add_refusal, read_count
from webapp.notebook.charts.chart_predictions import predict_open_steps
from webapp.notebook.charts.charts import ChartChoice, ChartKind, ChartOrder
from webapp.notebook.charts.pdf import ChartEntry, Paper
from webapp.notebook.charts.printing import PrintedChart, give_up_chart, print_chart
from webapp.notebook.instruments.instruments import list_instruments, open_instrument
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.result_cache import Failed, Outcome, Ready, Working
from webapp.pages.finder import look_again
from webapp.pages.result_cache import current_result_cache
from webapp.presenting.words import current_notebook, current_writing


def choose_instrument() -> str:
    """List the instruments a chart can be made for."""
    return render_template("charts/index.html", instruments=list_instruments(current_notebook()))


def show(instrument_id: int) -> str:
    """Show the choices."""
    return _show(ChartForm(request.args), instrument_id)


def download(instrument_id: int) -> Response | tuple[str, int]:
    """Make the chart; while predictions for it are computed, a page that comes back by itself."""
    form = ChartForm(request.args)
    if form.validate():
        choice = _choice(form, instrument_id)
        try:
            predicted = _predict(choice)
            if isinstance(predicted, Ready):
                return _print(form, choice, predicted.value)
            if isinstance(predicted, Working):
                return look_again(_show(form, instrument_id, working=predicted), predicted)
            return _show(form, instrument_id, failed=predicted), 422
        except FieldRefused as error:
            add_refusal(form, error)
    return _show(form, instrument_id), 422


def _writing(form: ChartForm) -> Writing:
    """The player's preferences, with the signs that were chosen for this chart."""
    writing = current_writing()
    return writing.with_signs(SystemId(form.signs.data)) if form.signs.data else writing


def give_up(instrument_id: int) -> Response:
    """Stop making the chart."""
    open_instrument(current_notebook(), instrument_id)
    give_up_chart(current_result_cache(), instrument_id)
    address = url_for("charts.show", instrument_id=instrument_id)
    return redirect(address, HTTPStatus.SEE_OTHER)


def _print(form: ChartForm, choice: ChartChoice, predicted: Sequence[ChartEntry]) -> Response:
    printed = print_chart(
        current_notebook(),
        current_result_cache(),
        choice,
        writing=_writing(form),
        predicted=predicted,
    )
    if isinstance(printed, Working):
        return look_again(_show(form, choice.instrument_id, printing=printed), printed)
    if isinstance(printed, Failed):
        assert printed.error is not None
        raise printed.error
    return _send(printed.value)


def _predict(choice: ChartChoice) -> Outcome[tuple[ChartEntry, ...]]:
    if not choice.predicted_steps or choice.kind is ChartKind.OVERVIEW:
        return Ready(())
    return predict_open_steps(
        current_notebook(), current_result_cache(), choice, writing=current_writing()
    )


def _show(
    form: ChartForm,
    instrument_id: int,
    *,
    working: Working | None = None,
    printing: Working | None = None,
    failed: Failed | None = None,
) -> str:
    instrument = open_instrument(current_notebook(), instrument_id)
    return render_template(
        "charts/form.html",
        form=form,
        instrument=instrument,
        working=working,
        printing=printing,
        failed=failed,
    )


def _send(printed: PrintedChart) -> Response:
    answer = send_file(printed.file, mimetype="application/pdf", max_age=0)
    answer.headers["Content-Disposition"] = f'attachment; filename="{printed.file_name}"'
    answer.call_on_close(printed.file.close)
    return answer


def _choice(form: ChartForm, instrument_id: int) -> ChartChoice:
    return ChartChoice(
        instrument_id=instrument_id,
        kind=ChartKind(form.kind.data or ChartKind.LIST.value),
        steps=read_count(form.steps) or 24,
        title=form.title.data or "",
        paper=Paper(form.paper.data or Paper.A4.value),
        order=ChartOrder(form.order.data or ChartOrder.RISING.value),
        low=form.low.data or "",
        high=form.high.data or "",
        strategy=Strategy(form.strategy.data) if form.strategy.data else None,
        highest_resistance=read_count(form.resistance),
        is_measured_only=bool(form.measured.data),
        is_choice_only=bool(form.mine.data),
        is_without_half_holes=bool(form.whole.data),
        is_best_only=bool(form.best.data),
        has_failures=bool(form.failures.data),
        predicted_steps=read_count(form.predictions) or 0,
    )
