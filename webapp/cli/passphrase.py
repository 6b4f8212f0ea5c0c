"""`quartervent passphrase`: what a tablet is asked before it sees the notebook."""

import os

import click

from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.own_folder import default_folder
from webapp.sharing.folder import SharingFolder
from webapp.sharing.passphrase import SHORTEST, keep_passphrase


@click.command()
@click.option("--remove", "is_removed", is_flag=True, help="Forget it: nothing is shared then.")
def passphrase(*, is_removed: bool) -> None:
    """Choose the passphrase for a tablet on the same network; every device is signed out."""
    os.umask(0o077)
    folder = SharingFolder.of(default_folder())
    try:
        if is_removed:
            was_there = folder.remove_passphrase()
            click.echo(
                "The passphrase is gone and every device signed out."
                if was_there
                else "There was no passphrase."
            )
            return
        text = click.prompt(
            f"A passphrase of at least {SHORTEST} characters, no pattern and no common word alone",
            hide_input=True,
            confirmation_prompt="Once more",
        )
        keep_passphrase(folder, text)
    except (NotebookError, OSError) as error:
        raise click.ClickException(str(error)) from error
    click.echo("Kept, as a hash only. Every device has to sign in with it.")
