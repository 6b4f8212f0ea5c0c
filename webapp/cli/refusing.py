"""Refusals of commands that scripts use: exit status 2 and one sentence."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from analysis.errors import AnalysisError
from webapp.notebook.store.errors import DatabaseOutOfReach, NotebookError

REFUSED = 2


class Refusal(click.ClickException):
    """Something cannot be done as it was asked for; the message is a sentence with a way out."""

    exit_code = REFUSED


def shut(error: Exception, *, before: str = "") -> click.ClickException:
    """Say what keeps a notebook shut; a database that is out of reach is a refusal."""
    kind = Refusal if isinstance(error, DatabaseOutOfReach) else click.ClickException
    return kind(f"{before}{error}")


@contextmanager
def refusing() -> Iterator[None]:
    """Tell what the notebook or the analysis refuses as a refusal of the command."""
    try:
        yield
    except (NotebookError, AnalysisError) as error:
        raise Refusal(" ".join(str(error).split())) from error


@contextmanager
def writing_to(path: Path) -> Iterator[None]:
    """Tell that a file cannot be written: a failure (exit status 1) of what was asked rightly."""
    try:
        yield
    except OSError as error:
        raise click.ClickException(
            f"{path} cannot be written ({error.strerror}). Choose another place."
        ) from error
