"""`quartervent restore`: a backup becomes the notebook again."""

from pathlib import Path

import click

from webapp.cli.opening import hold_own_folder, open_own_notebook
from webapp.cli.progress import showing_progress
from webapp.notebook.safekeeping.restoring import restore_backup
from webapp.notebook.store.errors import NotebookError


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
def restore(file: Path) -> None:
    """Make the notebook what it was when the backup FILE was made.

    What is there now is kept in its folder before-restore, a damaged database too. A file that is
    no whole backup changes nothing.
    """
    with hold_own_folder("restore"), open_own_notebook(may_be_damaged=True) as notebook:
        try:
            with showing_progress("Unpacking") as report:
                done = restore_backup(notebook, file, report=report)
        except NotebookError as error:
            raise click.ClickException(str(error)) from error
        except OSError as error:
            raise click.ClickException(
                f"The backup cannot be unpacked ({error.strerror}). Nothing was changed."
            ) from error
    click.echo(f"Restored: the notebook of {done.made_at}, {done.clip_count} recordings.")
    for name in done.missing:
        click.echo(f"{name}: was missing already when the backup was made", err=True)
    if done.was_damaged:
        click.echo(
            f"The damaged database is kept as it was in {done.aside}. If the notebook is open, "
            "close it and start it again."
        )
    elif done.aside is not None:
        click.echo(f"What was here before is kept in {done.aside}")
