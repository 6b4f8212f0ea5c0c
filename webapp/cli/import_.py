"""`quartervent import`: what another player exported, looked at and then kept as theirs."""

from pathlib import Path

import click

from webapp.cli.opening import open_own_notebook
from webapp.cli.refusing import refusing
from webapp.notebook.exchange.archive import read_archive
from webapp.notebook.exchange.comparing import Preview, Standpoint, preview_document
from webapp.notebook.exchange.keeping import keep_archive
from webapp.notebook.exchange.received import name_of


@click.command(name="import")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--keep", "is_kept", is_flag=True, help="Keep it; without this it is only shown.")
def import_(*, file: Path, is_kept: bool) -> None:
    """Show what the archive FILE of another player would bring in; with --keep, keep it.

    It stays theirs: it has a section of its own, and counts for none of your figures.
    """
    with refusing(), open_own_notebook() as notebook:
        arrived = read_archive(file)
        preview = preview_document(notebook, arrived.document)
        _tell(preview)
        if is_kept and not preview.changes_nothing:
            keep_archive(notebook, arrived)
    if preview.changes_nothing:
        click.echo("All of it is there already. Nothing changes.")
    elif is_kept:
        click.echo("Kept, as theirs.")
    else:
        click.echo("Nothing is kept yet. Keep it with --keep.")


def _tell(preview: Preview) -> None:
    click.echo(f"From {preview.sender_name or 'a player without a name'}:")
    for instrument, _ in preview.instruments:
        setup = "; ".join(instrument.setup_lines)
        click.echo(
            f"  {instrument.name}, {instrument.kind.name}, {instrument.layout.name}, "
            f"A = {instrument.tuning_a_hz:g} Hz{f'; {setup}' if setup else ''}"
        )
    for standpoint in Standpoint:
        found = preview.of(standpoint)
        if found:
            click.echo(f"  {len(found)} {_WORDS[standpoint]}")
    for each in preview.of(Standpoint.CHANGED):
        click.echo(f"    {name_of(each.fingering)}: {', '.join(each.changes)}")
    if preview.sound_count:
        click.echo(f"  {preview.sound_count} recordings, {preview.sound_bytes / 1e6:.1f} MB")
    for said, standpoint in preview.lists:
        if standpoint in (Standpoint.NEW, Standpoint.CHANGED):
            click.echo(f"  list “{said['title']}”, {len(said['notes'])} notes, to accept")
    for lacked in preview.lacked:
        keys = ", ".join(f"{key} ({count})" for key, count in lacked.keys)
        click.echo(
            f"  {lacked.instrument.name} lacks keys for {lacked.fingering_count} of them: {keys}"
        )


_WORDS = {
    Standpoint.NEW: "new fingerings",
    Standpoint.CHANGED: "changed",
    Standpoint.SAME: "as they are here already",
    Standpoint.OLDER: "older than what is here, which stays",
}
