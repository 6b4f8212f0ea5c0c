"""`quartervent remeasure`: every take by the present method, and what moved."""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from statistics import median

import click

from analysis.pitch import format_cents
from analysis.recording import METHOD_VERSION
from webapp.cli.opening import hold_own_folder, open_own_notebook
from webapp.notebook.store.claims import claiming
from webapp.notebook.store.errors import JobTaken
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.takes.remeasuring import (
    Moved,
    find_outdated,
    find_outdated_notes,
    remeasure_note,
    remeasure_take,
)

ROWS_SHOWN = 10


@click.command()
def remeasure() -> None:
    """Measure again every take that an earlier method measured; earlier numbers are kept.

    It can be stopped at any time and goes on where it was. Exits with 1 if a take could not be
    measured.
    """
    with (
        hold_own_folder("remeasure"),
        open_own_notebook() as notebook,
        _claiming(notebook) as renew,
    ):
        outdated, notes = find_outdated(notebook), find_outdated_notes(notebook)
        if not outdated and not notes:
            click.echo(f"Every take is measured by method {METHOD_VERSION} already.")
            return
        moved, problems = [], []
        with click.progressbar(outdated, label=f"Measuring {_count(len(outdated))}") as progress:
            for take_id in progress:
                renew()
                moved.append(remeasure_take(notebook, take_id))
        for note_id in notes:
            renew()
            if words := remeasure_note(notebook, note_id):
                problems.append(f"tuning note {note_id}: {words}")
    _report(moved)
    problems += [f"take {each.take_id}: {each.problem}" for each in moved if each.problem]
    for problem in problems:
        click.echo(problem, err=True)
    if problems:
        sys.exit(1)


@contextmanager
def _claiming(notebook: Notebook) -> Iterator[Callable[[], None]]:
    """Keep another program on the same database from measuring the same takes."""
    try:
        with claiming(notebook, "remeasure") as renew:
            yield renew
    except JobTaken as error:
        raise click.ClickException(str(error)) from error


def _report(moved: Sequence[Moved]) -> None:
    by_amount = [(abs(each.moved_cents), each) for each in moved if each.moved_cents is not None]
    click.echo(
        f"{_count(len(moved))} measured by method {METHOD_VERSION}; earlier numbers are kept."
    )
    changed = [each for each in moved if each.after_verdict != each.before_verdict]
    if by_amount:
        typical = median(amount for amount, _ in by_amount)
        click.echo(f"They moved by {typical:.2f} cents in the median. The largest moves:")
        click.echo(_row(("take", "instrument", "target", "before", "after", "moved")))
        largest = sorted(by_amount, key=lambda pair: (-pair[0], pair[1].take_id))
        for _, each in largest[:ROWS_SHOWN]:
            click.echo(_row(_cells(each)))
    for each in changed:
        click.echo(
            f"take {each.take_id} ({each.target_text}): was {each.before_verdict}, "
            f"is {each.after_verdict}"
        )


def _count(number: int) -> str:
    return "1 take" if number == 1 else f"{number} takes"


def _cells(each: Moved) -> tuple[str, ...]:
    numbers = (each.before_cents, each.after_cents, each.moved_cents)
    written = ["" if cents is None else format_cents(cents, decimals=2) for cents in numbers]
    return (str(each.take_id), each.instrument_name, each.target_text, *written)


def _row(cells: Sequence[str]) -> str:
    widths = (6, 24, 12, 9, 9, 9)
    return "  ".join(
        cell[:width].ljust(width) if place in (1, 2) else cell.rjust(width)
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ).rstrip()
