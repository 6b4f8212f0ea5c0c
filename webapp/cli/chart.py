"""`quartervent chart`: a PDF without a browser."""

from pathlib import Path

import click

from analysis.pitch import SystemId
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_demo_notebook, open_own_notebook
from webapp.cli.refusing import writing_to
from webapp.notebook.charts.chart_predictions import predict_open_steps
from webapp.notebook.charts.charts import ChartChoice, ChartKind
from webapp.notebook.charts.kinds import make_chart_of_kind
from webapp.notebook.charts.pdf import ChartEntry, Paper
from webapp.notebook.preferences.preferences import Writing, read_preferences
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, Ready, ResultCache

_STEPS = {"semitone": 12, "quarter": 24, "eighth": 48}
_PATIENCE_S = 600.0


@click.command()
@click.option("--demo", is_flag=True, help="Chart the demo notebook instead of your own.")
@click.option(
    "--instrument",
    "wanted",
    default="",
    help="Name of the instrument; needed if there are several.",
)
@click.option(
    "--kind",
    type=click.Choice([each.value for each in ChartKind]),
    default=ChartKind.LIST.value,
    help="All fingerings, an overview of the range, or a few a page for the stand.",
)
@click.option(
    "--steps",
    type=click.Choice(["semitone", "quarter", "eighth"]),
    default="quarter",
    help="Steps of an overview.",
)
@click.option("--title", default="", help="Title of the chart.")
@click.option("--from", "lowest", default="", help="Lowest written note, for example B4.")
@click.option("--to", "highest", default="", help="Highest written note.")
@click.option("--paper", type=click.Choice([each.value for each in Paper]), default=Paper.A4.value)
@click.option("--best", is_flag=True, help="Only the best fingering for each note.")
@click.option(
    "--measured", "--proven", "measured", is_flag=True, help="Only fingerings with a measured take."
)
@click.option("--mine", is_flag=True, help="Only your own choices.")
@click.option(
    "--predictions",
    type=click.Choice(["quarter", "eighth"]),
    help="For open steps of the range also the best suggestion, marked as predicted.",
)
@click.option(
    "--signs",
    type=click.Choice([each.value for each in SystemId]),
    help="Signs of this chart; those of the preferences where it is not given.",
)
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), required=True, help="PDF to write."
)
def chart(
    *,
    demo: bool,
    wanted: str,
    out: Path,
    kind: str,
    steps: str,
    title: str,
    lowest: str,
    highest: str,
    paper: str,
    predictions: str | None,
    signs: str | None,
    best: bool,
    measured: bool,
    mine: bool,
) -> None:
    """Print the fingerings of one instrument as PDF."""
    with open_demo_notebook() if demo else open_own_notebook() as notebook:
        if demo:
            from webapp.notebook.demo import fill_demo

            fill_demo(notebook)
        choice = ChartChoice(
            instrument_id=choose_by_name(notebook, wanted),
            kind=ChartKind(kind),
            steps=_STEPS[steps],
            title=title,
            paper=Paper(paper),
            low=lowest,
            high=highest,
            is_best_only=best,
            is_measured_only=measured,
            is_choice_only=mine,
            predicted_steps=_STEPS[predictions] if predictions else 0,
        )
        made = _make(notebook, choice, signs)
        with writing_to(out):
            out.write_bytes(made)
    click.echo(f"Chart written to {out}")


def _make(notebook: Notebook, choice: ChartChoice, signs: str | None) -> bytes:
    writing = read_preferences(notebook)
    if signs is not None:
        writing = writing.with_signs(SystemId(signs))
    try:
        predicted = _predict(notebook, choice, writing) if choice.predicted_steps else ()
        return make_chart_of_kind(notebook, choice, writing=writing, predicted=predicted).pdf
    except NotebookError as error:
        raise click.ClickException(str(error)) from error


def _predict(notebook: Notebook, choice: ChartChoice, writing: Writing) -> tuple[ChartEntry, ...]:
    with ResultCache() as cache:
        outcome = predict_open_steps(
            notebook, cache, choice, writing=writing, patience_s=_PATIENCE_S
        )
    if isinstance(outcome, Ready):
        return outcome.value
    reason = outcome.reason if isinstance(outcome, Failed) else "It takes too long."
    raise click.ClickException(f"Nothing can be predicted for this instrument. {reason}")
