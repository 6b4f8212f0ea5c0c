"""`quartervent check`: is every clip still the one that was measured?"""

import sys
from dataclasses import replace

import click

from webapp.cli.opening import open_own_notebook
from webapp.notebook.safekeeping.checking import ClipReport, check_clips, set_orphans_aside
from webapp.notebook.store.notebook import Notebook


@click.command()
@click.option(
    "--set-aside",
    is_flag=True,
    help="Move the recordings that belong to nothing into the notebook's folder clips-set-aside.",
)
def check(*, set_aside: bool) -> None:
    """Compare every recording with the hash in its row; exits 1 if anything is wrong.

    Without --set-aside nothing is changed. The notebook may be open.
    """
    with open_own_notebook() as notebook:
        report = check_clips(notebook)
        _tell(report)
        if set_aside and report.orphans:
            report = replace(report, orphans=_set_aside(notebook))
    if not report.is_sound:
        sys.exit(1)
    click.echo("All is as it was recorded.")


def _tell(report: ClipReport) -> None:
    click.echo(f"{report.checked} recordings checked.")
    for words, names in (
        ("missing", report.missing),
        ("altered", report.altered),
        ("belongs to nothing", report.orphans),
    ):
        for name in names:
            click.echo(f"{name}: {words}")
    if report.orphans:
        click.echo(
            "No take, long recording or tuning note, in the bin or out of it, needs what belongs "
            "to nothing. `quartervent check --set-aside` moves it out of the way."
        )


def _set_aside(notebook: Notebook) -> tuple[str, ...]:
    """Move what belongs to nothing, say where, and return what had to stay."""
    try:
        done = set_orphans_aside(notebook)
    except OSError as error:
        raise click.ClickException(
            f"Not everything could be moved ({error.strerror}). Nothing was deleted."
        ) from error
    for name in done.too_young:
        click.echo(f"{name}: left where it is; it came within the last hour. Try again later.")
    if done.folder is not None:
        click.echo(
            f"Moved: {len(done.moved)}. They lie in {done.folder}; delete that folder when you "
            "have listened to them."
        )
    return done.too_young
