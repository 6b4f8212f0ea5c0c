"""`quartervent handout`: a selection as one HTML file for somebody without this program."""

from pathlib import Path

import click

from analysis.finder.strategies import Strategy
from webapp.cli.opening import choose_by_name, choose_piece, open_own_notebook
from webapp.cli.options import selection_options
from webapp.cli.refusing import Refusal, refusing
from webapp.notebook.exchange.hand_outs import HandOutHeading, collect_hand_out
from webapp.notebook.exchange.selecting import Selection
from webapp.notebook.preferences.preferences import read_preferences
from webapp.presenting.hand_out import render_hand_out


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@selection_options
@click.option("--title", default="", help="What stands above; left out, the instrument.")
@click.option("--recordings", "has_recordings", is_flag=True, help="With the best take of each.")
@click.option("--without-notes", is_flag=True, help="Leave your notes and tags out.")
def handout(
    *,
    file: Path,
    name: str,
    low: str,
    high: str,
    piece_title: str,
    tag: str,
    strategy: str | None,
    is_measured_only: bool,
    is_choice_only: bool,
    is_without_half_holes: bool,
    player_name: str,
    title: str,
    has_recordings: bool,
    without_notes: bool,
) -> None:
    """Write fingerings of one instrument into one HTML FILE that any browser opens.

    Drawings, figures and a search are inside; it needs no network and prints.
    """
    with refusing(), open_own_notebook() as notebook:
        selection = Selection(
            choose_by_name(notebook, name),
            low=low,
            high=high,
            tag=tag,
            piece_id=choose_piece(notebook, piece_title) if piece_title else None,
            strategy=None if strategy is None else Strategy(strategy),
            is_measured_only=is_measured_only,
            is_choice_only=is_choice_only,
            is_without_half_holes=is_without_half_holes,
        )
        heading = HandOutHeading(title, player_name, has_recordings, not without_notes)
        names = read_preferences(notebook).names
        page = render_hand_out(collect_hand_out(notebook, selection, heading, names=names))
    try:
        file.write_bytes(page)
    except OSError as error:
        raise Refusal(
            f"{file} cannot be written ({error.strerror}). Choose another place."
        ) from error
    click.echo(f"{len(page) / 1e6:.1f} MB are in {file}")
