"""Print a personal chart."""

from flask import Blueprint, Response, render_template, request

from analysis.finder import Strategy
from webapp.chart import Paper
from webapp.errors import FieldRefused
from webapp.forms import ChartForm, add_refusal, read_count
from webapp.presenting import current_notebook, current_writing
from webapp.services.charts import ChartChoice, ChartOrder, make_chart
from webapp.services.instruments import list_instruments, open_instrument

blueprint = Blueprint("charts", __name__)
FIELDS = {"lowest": "low", "highest": "high"}


@blueprint.get("/charts")
def choose_instrument() -> str:
    """List the instruments a chart can be made for."""
    return render_template("charts/index.html", instruments=list_instruments(current_notebook()))


@blueprint.get("/instruments/<int:instrument_id>/chart")
def show(instrument_id: int) -> str:
    """Show the choices."""
    instrument = open_instrument(current_notebook(), instrument_id)
    return render_template("charts/form.html", form=ChartForm(request.args), instrument=instrument)


@blueprint.get("/instruments/<int:instrument_id>/chart.pdf")
def download(instrument_id: int) -> Response | tuple[str, int]:
    """Make the chart."""
    form = ChartForm(request.args)
    notebook = current_notebook()
    if form.validate():
        try:
            chart = make_chart(notebook, _choice(form, instrument_id), writing=current_writing())
        except FieldRefused as error:
            add_refusal(form, error, FIELDS)
        else:
            return Response(
                chart.pdf,
                mimetype="application/pdf",
                headers={"Content-Disposition": f'attachment; filename="{chart.file_name}"'},
            )
    instrument = open_instrument(notebook, instrument_id)
    return render_template("charts/form.html", form=form, instrument=instrument), 422


def _choice(form: ChartForm, instrument_id: int) -> ChartChoice:
    return ChartChoice(
        instrument_id=instrument_id,
        title=form.title.data or "",
        paper=Paper(form.paper.data or Paper.A4.value),
        order=ChartOrder(form.order.data or ChartOrder.RISING.value),
        lowest=form.low.data or "",
        highest=form.high.data or "",
        strategy=Strategy(form.strategy.data) if form.strategy.data else None,
        highest_resistance=read_count(form.resistance),
        is_proven_only=bool(form.proven.data),
        is_without_half_holes=bool(form.whole.data),
        is_best_only=bool(form.best.data),
        has_failures=bool(form.failures.data),
    )
