"""A progress bar for work that reports its parts, and one sentence where it is stopped."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

STEPS = 100


class Stopped(click.ClickException):
    """Ctrl-C ended a command; the exit code is what a shell tells of that, 128 + SIGINT."""

    exit_code = 130


@contextmanager
def showing_progress(label: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar while the block runs; it is given what to call with a part and the whole."""
    with click.progressbar(length=STEPS, label=label) as bar:
        yield lambda part, whole: bar.update(STEPS * part // max(whole, 1) - bar.pos)


@contextmanager
def stopping_with(sentence: str) -> Iterator[None]:
    """Say one sentence where Ctrl-C ends the block."""
    try:
        yield
    except KeyboardInterrupt:
        click.echo()  # below the bar and the terminal's own ^C
        raise Stopped(sentence) from None
