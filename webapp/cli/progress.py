"""A progress bar for work that reports its parts."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

STEPS = 100


@contextmanager
def showing_progress(label: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar while the block runs; it is given what to call with a part and the whole."""
    with click.progressbar(length=STEPS, label=label) as bar:
        yield lambda part, whole: bar.update(STEPS * part // max(whole, 1) - bar.pos)
