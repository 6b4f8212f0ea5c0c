"""`quartervent piece run`: a passage of a piece played at tempo, each note in context."""

import json
from pathlib import Path

import click

from analysis.pitch import format_pitch
from webapp.cli.choosing import choose_by_name, choose_piece
from webapp.cli.opening import open_own_notebook
from webapp.cli.options import json_option
from webapp.cli.refusing import Refusal, refusing
from webapp.notebook.pieces.passage_notes import Stretch, find_tempo, read_bars
from webapp.notebook.pieces.run_figures import RunPage, RunRow
from webapp.notebook.pieces.run_throughs import (
    RunsPage,
    keep_run,
    match_run,
    open_run,
    open_runs,
)

WIDTHS = (8, 12, 20, 0)


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--piece", "title", required=True, help="Title of a piece of the notebook.")
@click.option("--bars", required=True, metavar="A-B", help="Which bars, by their printed numbers.")
@click.option(
    "--bpm", type=float, help="Quarter notes a minute; where not given, as the piece says."
)
@click.option("--instrument", "name", help="Where the piece has several: the name of one.")
@click.option("--keep", is_flag=True, help="Keep the run-through and its recording.")
@json_option
def run(
    *,
    file: Path,
    title: str,
    bars: str,
    bpm: float | None,
    name: str | None,
    keep: bool,
    is_json: bool,
) -> None:
    """Match FILE, a recording of a passage, with a piece: each note in context beside held.

    What lay furthest from held comes first. Without --keep nothing is kept.

    With --json each line holds a note, null where it is not known:

    \b
      position, bar_label, written
                               place in the passage from 1, printed number, canonical text
      held_cents, context_cents, change_cents
                               from the written note; change: without what all have in common
      held_uncertainty_cents, context_uncertainty_cents
                               one standard deviation
      wrong_cents              where another note sounded in its place
      times, right_times       how often it was played, and how often as itself
      late_s                   how much later than even the next note came
    """
    with open_own_notebook() as notebook, refusing():
        piece_id = choose_piece(notebook, title)
        page = open_runs(notebook, piece_id, choose_by_name(notebook, name) if name else None)
        stretch = _read_stretch(page, bars, bpm)
        if keep:
            with file.open("rb") as upload:
                run_id = keep_run(notebook, piece_id, page.instrument.id, stretch, upload)
            found = open_run(notebook, piece_id, run_id)
        else:
            found = match_run(notebook, piece_id, page.instrument.id, stretch, file)
    if is_json:
        for row in found.rows:
            click.echo(json.dumps(_list_facts(row), ensure_ascii=False))
    else:
        _print(found)


def _read_stretch(page: RunsPage, bars: str, bpm: float | None) -> Stretch:
    first, last = read_bars(page.part, bars)
    tempo = bpm or find_tempo(page.part, first)
    if tempo is None:
        raise Refusal("The piece says no tempo. Give one: --bpm 72.")
    return Stretch(first, last, tempo)


def _list_facts(row: RunRow) -> dict[str, object]:
    note = row.note
    figures = {
        "held_cents": note.held_cents,
        "held_uncertainty_cents": note.held_uncertainty_cents,
        "context_cents": note.context_cents,
        "context_uncertainty_cents": note.context_uncertainty_cents,
        "change_cents": row.change_cents,
        "wrong_cents": note.wrong_cents,
    }
    return {
        "position": note.position + 1,
        "bar_label": note.bar_label,
        "written": note.written,
        **{name: None if each is None else round(each, 2) for name, each in figures.items()},
        "times": note.times,
        "right_times": note.right_times,
        "late_s": note.late_s,
    }


def _print(page: RunPage) -> None:
    kept = page.run
    click.echo(
        f"Played at {page.played_per_minute:.0f} quarter notes a minute, "
        f"asked {kept.quarters_per_minute:g}; {page.wrong_count} another note, "
        f"{page.missing_count} not heard."
    )
    for row in page.rows:
        name = format_pitch(row.note.pitch.to_be_read(), style="short")
        cells = (f"bar {row.note.bar_label}", name, row.words, row.timing)
        padded = (each.ljust(width) for each, width in zip(cells, WIDTHS, strict=True))
        click.echo("  ".join(padded).rstrip())
