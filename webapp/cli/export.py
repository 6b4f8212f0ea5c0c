"""`quartervent export`: a selection of the player's fingerings as one archive for somebody else."""

from pathlib import Path

import click

from webapp.cli.opening import open_own_notebook
from webapp.cli.refusing import refusing, writing_to
from webapp.cli.selection_options import Choose, player_name_option, selection_options
from webapp.notebook.exchange.exporting import write_export
from webapp.notebook.exchange.selecting import Sending
from webapp.notebook.preferences.preferences import read_preferences


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@selection_options
@player_name_option
@click.option("--without-recordings", is_flag=True, help="Leave the recordings out.")
@click.option("--without-notes", is_flag=True, help="Leave your notes and tags out.")
@click.option("--list", "list_title", default="", help="Hand it on as a list with this title.")
@click.option("--message", default="", help="A message that goes with the list.")
def export(
    *,
    file: Path,
    choose: Choose,
    player_name: str,
    without_recordings: bool,
    without_notes: bool,
    list_title: str,
    message: str,
) -> None:
    """Write fingerings of one instrument into an archive FILE, with drawings and recordings.

    The archive is open: JSON, SVG, the recordings as they were made, and a README that explains it.
    Another notebook takes it in with `quartervent import`; the same notebook gives the same file.
    """
    with refusing(), open_own_notebook() as notebook:
        sending = Sending(
            player_name, not without_recordings, list_title, message, not without_notes
        )
        names = read_preferences(notebook).names
        with writing_to(file):
            done = write_export(notebook, file, choose(notebook), sending, names=names)
    click.echo(f"{done.words} are in {file}")
