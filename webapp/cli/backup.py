"""`quartervent backup`: everything in one file."""

from pathlib import Path

import click

from webapp.cli.opening import open_own_notebook
from webapp.cli.progress import showing_progress
from webapp.notebook.safekeeping.backup import BackupReport, dated_name, write_backup
from webapp.notebook.store.errors import NotebookError


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
def backup(file: Path) -> None:
    """Write the whole notebook, recordings included, into one archive FILE.

    FILE may be a folder; the archive gets a name with the date then. The notebook may be open.
    """
    path = file / dated_name() if file.is_dir() else file
    with open_own_notebook() as notebook:
        try:
            with showing_progress("Packing") as report:
                done = write_backup(notebook, path, report=report)
        except NotebookError as error:
            raise click.ClickException(str(error)) from error
        except OSError as error:
            raise click.ClickException(
                f"{path} cannot be written ({error.strerror}). Choose another place."
            ) from error
    click.echo(f"{done.clip_count} recordings and the database are in {path}")
    _tell_problems(done)


def _tell_problems(done: BackupReport) -> None:
    for words, names in (
        ("missing from the notebook itself", done.missing),
        ("not the one that was measured; kept as it is", done.altered),
        ("no recording of the notebook; left out", done.left_out),
    ):
        for name in names:
            click.echo(f"{name}: {words}", err=True)
