"""`quartervent check`: is every clip still the one that was measured?"""

import sys

import click

from webapp.cli.opening import open_own_notebook
from webapp.services.checking import check_clips


@click.command()
def check() -> None:
    """Compare every recording with the hash in its row; exits 1 if anything is wrong."""
    with open_own_notebook() as notebook:
        report = check_clips(notebook)
    click.echo(f"{report.checked} recordings checked.")
    for words, names in (
        ("missing", report.missing),
        ("altered", report.altered),
        ("belongs to nothing", report.orphans),
    ):
        for name in names:
            click.echo(f"{name}: {words}")
    if not report.is_sound:
        sys.exit(1)
    click.echo("All is as it was recorded.")
