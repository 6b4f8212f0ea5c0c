"""`quartervent export`: a selection of the player's fingerings as one archive for somebody else."""

from pathlib import Path

import click

from analysis.finder.strategies import Strategy
from webapp.cli.opening import choose_by_name, choose_piece, open_own_notebook
from webapp.cli.options import selection_options
from webapp.cli.refusing import Refusal, refusing
from webapp.notebook.exchange.exporting import write_export
from webapp.notebook.exchange.selecting import Selection, Sending
from webapp.notebook.preferences.preferences import read_preferences


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@selection_options
@click.option("--without-recordings", is_flag=True, help="Leave the recordings out.")
@click.option("--without-notes", is_flag=True, help="Leave your notes and tags out.")
@click.option("--list", "list_title", default="", help="Hand it on as a list with this title.")
@click.option("--message", default="", help="A message that goes with the list.")
def export(
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
        sending = Sending(
            player_name, not without_recordings, list_title, message, not without_notes
        )
        names = read_preferences(notebook).names
        try:
            done = write_export(notebook, file, selection, sending, names=names)
        except OSError as error:
            raise Refusal(
                f"{file} cannot be written ({error.strerror}). Choose another place."
            ) from error
    click.echo(f"{done.words} are in {file}")
