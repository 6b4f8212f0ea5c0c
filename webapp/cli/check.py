"""`quartervent check`: is every clip still the one that was measured?"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import click

from webapp.cli.opening import hold_own_folder, open_own_notebook
from webapp.cli.progress import showing_progress, stopping_with
from webapp.cli.refusing import shut
from webapp.notebook.safekeeping.checking import (
    ClipReport,
    DatabaseReport,
    check_clips,
    check_database,
    set_orphans_aside,
)
from webapp.notebook.store.errors import NotebookError
from webapp.notebook.store.notebook import (
    Notebook,
    let_go_on_failure,
    look_at_notebook,
)
from webapp.notebook.store.own_folder import default_folder

STOPPED = "Stopped: not everything was checked. Nothing was changed."


@click.command()
@click.option(
    "--set-aside",
    is_flag=True,
    help="Move the recordings that belong to nothing into the notebook's folder clips-set-aside.",
)
def check(*, set_aside: bool) -> None:
    """Look for damage in the database, and compare every recording with the hash in its row.

    Exits with 1 if anything is wrong. Without --set-aside nothing is changed, and nothing is
    upgraded. The notebook may be open.
    """
    with stopping_with(STOPPED), _looking() as notebook:
        database = check_database(notebook)
        if database.damage:
            raise click.ClickException(_describe_damage(database.damage))
        _tell_database(database)
        with showing_progress("Checking") as progress:
            report = check_clips(notebook, report=progress)
        _tell(report)
    if set_aside and report.orphans:
        with hold_own_folder("check --set-aside"), open_own_notebook() as notebook:
            report = replace(report, orphans=_set_aside(notebook))
    if not (report.is_sound and database.is_sound):
        sys.exit(1)
    click.echo("All is as it was recorded.")


@contextmanager
def _looking() -> Iterator[Notebook]:
    """Open the notebook for reading only: a check changes nothing and upgrades nothing."""
    try:
        notebook = look_at_notebook(default_folder())
    except NotebookError as error:
        raise shut(error) from error
    if notebook is None:
        raise click.ClickException(
            f"There is no notebook in {default_folder()} yet. `quartervent serve` begins one."
        )
    try:
        with let_go_on_failure(notebook.database.engine):
            yield notebook
    except NotebookError as error:
        raise shut(error) from error
    finally:
        notebook.close()


def _describe_damage(damage: tuple[str, ...]) -> str:
    more = f"; {len(damage) - 1} more faults like it" if len(damage) > 1 else ""
    return (
        f"The database of this notebook is damaged ({damage[0]}{more}). Put a backup in its place "
        "with `quartervent restore FILE`, or save what can be read: `quartervent backup "
        "--what-can-be-read FILE`."
    )


def _tell_database(report: DatabaseReport) -> None:
    for problem in report.unreadable:
        click.echo(problem)
    if report.is_served:
        click.echo(
            "A server of its own keeps the database, so its files were not looked at; that "
            "server's tools do. What stands in it is read here, and every recording."
        )
    if report.is_older:
        click.echo("An earlier version wrote this notebook; what stands in it was not read.")


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
            "No take, long recording, tuning note or piece, in the bin or out of it, needs what "
            "belongs to nothing. `quartervent check --set-aside` moves it out of the way."
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
