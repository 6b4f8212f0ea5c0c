"""`quartervent backup`: everything in one file."""

from pathlib import Path

import click

from webapp.cli.opening import open_own_notebook
from webapp.cli.progress import showing_progress, stopping_with
from webapp.cli.refusing import writing_to
from webapp.notebook.safekeeping.backup import BackupReport, dated_name, write_backup
from webapp.notebook.safekeeping.salvage import Salvage
from webapp.notebook.store.errors import NotebookError

STOPPED = "Stopped: no backup was written, and nothing is left of it."


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--what-can-be-read",
    "is_salvage",
    is_flag=True,
    help="Of a damaged notebook: save the rows that can still be read, and all recordings.",
)
def backup(*, file: Path, is_salvage: bool) -> None:
    """Write the whole notebook, recordings included, into one archive FILE.

    FILE may be a folder; the archive gets a name with the date then. The notebook may be open.
    """
    path = file / dated_name() if file.is_dir() else file
    with open_own_notebook(may_be_damaged=is_salvage) as notebook:
        try:
            with (
                writing_to(path),
                stopping_with(STOPPED),
                showing_progress("Packing") as report,
            ):
                done = write_backup(notebook, path, is_salvage=is_salvage, report=report)
        except NotebookError as error:
            raise click.ClickException(str(error)) from error
    click.echo(f"{done.clip_count} recordings and the database are in {path}")
    if done.salvage is not None:
        _tell_salvage(done.salvage)
    _tell_problems(done)


def _tell_salvage(saved: Salvage) -> None:
    click.echo(f"{sum(saved.rows.values())} rows could be read.")
    if saved.torn:
        click.echo(f"Not every row of these could: {', '.join(saved.torn)}.")
    if saved.dropped:
        click.echo(f"{saved.dropped} rows that belonged to lost ones are left out.")
    click.echo("`quartervent restore FILE` puts it in the place of the damaged notebook.")


def _tell_problems(done: BackupReport) -> None:
    for words, names in (
        ("missing from the notebook itself", done.missing),
        ("not the one that was measured; kept as it is", done.altered),
        ("no recording of the notebook; left out", done.left_out),
    ):
        for name in names:
            click.echo(f"{name}: {words}", err=True)
