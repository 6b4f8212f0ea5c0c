"""`quartervent piece sheet`: a sheet for the stand as PDF, straight from a score file."""

from pathlib import Path

import click

from analysis.pitch import SystemId
from webapp.cli.choosing import choose_by_name
from webapp.cli.opening import open_own_notebook
from webapp.cli.refusing import refusing, writing_to
from webapp.cli.score_files import open_transcript, part_options, settings_of
from webapp.notebook.charts.pdf import Paper
from webapp.notebook.pieces.printing import SheetKind, render_sheet
from webapp.notebook.pieces.sheet import SheetHead
from webapp.notebook.pieces.todo import open_todo


@click.command()
@part_options
@click.option("--instrument", "name", required=True, help="Name of an instrument of the notebook.")
@click.option("--paper", type=click.Choice([each.value for each in Paper]), default=Paper.A4.value)
@click.option(
    "--layout",
    "kind",
    type=click.Choice([each.value for each in SheetKind]),
    default=SheetKind.BARS.value,
    help="bars: a row for each bar; strips: the hard bars as music, with drawings above.",
)
@click.option(
    "--signs",
    type=click.Choice([each.value for each in SystemId]),
    help="Signs of this sheet; those of the preferences where it is not given.",
)
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), required=True, help="PDF to write."
)
def sheet(
    *,
    file: Path,
    part_number: int | None,
    voice: str | None,
    sounding: bool,
    arrow_cents: float | None,
    name: str,
    paper: str,
    kind: str,
    signs: str | None,
    out: Path,
) -> None:
    """Print a sheet for a part of FILE: only the notes that need thought.

    FILE as in `piece read`; what is decided for a piece of the notebook does not count here.
    """
    settings = settings_of(voice=voice, sounding=sounding, arrow_cents=arrow_cents)
    with refusing():
        transcript = open_transcript(file, part_number)
        with open_own_notebook() as notebook:
            todo = open_todo(notebook, choose_by_name(notebook, name), transcript, settings)
    part = todo.part
    head = SheetHead(part.title or part.name or file.stem, part.composer, paper=Paper(paper))
    writing = todo.writing.with_signs(SystemId(signs)) if signs else todo.writing
    with refusing():
        pdf = render_sheet(todo, head, writing, SheetKind(kind))
    with writing_to(out):
        out.write_bytes(pdf)
    click.echo(f"Sheet written to {out}")
