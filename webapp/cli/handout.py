"""`quartervent handout`: a selection as one HTML file for somebody without this program."""

from pathlib import Path

import click

from webapp.cli.opening import open_own_notebook
from webapp.cli.refusing import refusing, writing_to
from webapp.cli.selection_options import Choose, player_name_option, selection_options
from webapp.notebook.exchange.hand_outs import HandOutHeading, collect_hand_out
from webapp.notebook.preferences.preferences import read_preferences
from webapp.presenting.hand_out import render_hand_out


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@selection_options
@player_name_option
@click.option("--title", default="", help="What stands above; left out, the instrument.")
@click.option("--recordings", "has_recordings", is_flag=True, help="With the best take of each.")
@click.option("--without-notes", is_flag=True, help="Leave your notes and tags out.")
def handout(
    *,
    file: Path,
    choose: Choose,
    player_name: str,
    title: str,
    has_recordings: bool,
    without_notes: bool,
) -> None:
    """Write fingerings of one instrument into one HTML FILE that any browser opens.

    Drawings, figures and a search are inside; it needs no network and prints.
    """
    with refusing(), open_own_notebook() as notebook:
        heading = HandOutHeading(title, player_name, has_recordings, not without_notes)
        names = read_preferences(notebook).names
        page = render_hand_out(collect_hand_out(notebook, choose(notebook), heading, names=names))
    with writing_to(file):
        file.write_bytes(page)
    click.echo(f"{len(page) / 1e6:.1f} MB are in {file}")
