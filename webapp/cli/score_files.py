"""Score files and typed parts as commands take them: the shared options, and the way in."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import click

from analysis.score import (
    PartTranscript,
    ReadingSettings,
    parse_typed_part,
    read_score_file,
    to_transcript,
)
from webapp.cli.refusing import Refusal

TYPED_ENDING = ".txt"

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

_OPTIONS = (
    click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path)),
    click.option(
        "--part",
        "part_number",
        type=click.IntRange(min=1),
        help="Number of the part in the score; left out, the clarinet's.",
    ),
    click.option(
        "--voice",
        default=None,
        help="Where several lines stand on one staff: the number of a voice, top or bottom.",
    ),
    click.option(
        "--sounding", is_flag=True, help="The score has what is heard, not what is written."
    ),
    click.option(
        "--arrows",
        "arrow_cents",
        type=click.FloatRange(0, 250, min_open=True),
        metavar="CENTS",
        help="What an arrow adds, where the score does not say.",
    ),
)


def part_options(command: Decorated) -> Decorated:
    """Give a command FILE and the options that choose and read one part of it."""
    for each in reversed(_OPTIONS):
        command = each(command)
    return command


def settings_of(*, voice: str | None, sounding: bool, arrow_cents: float | None) -> ReadingSettings:
    """Return the answers that the options give."""
    return ReadingSettings(
        is_sounding=True if sounding else None,
        voice=voice,
        arrow_cents=None if arrow_cents is None else Fraction(str(arrow_cents)),
    )


def open_transcript(file: Path, part_number: int | None) -> PartTranscript:
    """Read a score file or typed text (.txt).

    Raises:
        Refusal: the file cannot be opened, or typed text is not in UTF-8.
        ScoreError: it is no score that can be read.
    """
    try:
        if file.suffix.lower() != TYPED_ENDING:
            return read_score_file(file, part_number)
        text = file.read_text("utf-8-sig")
    except OSError as error:
        raise Refusal(f"The file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise Refusal("This text is not in UTF-8. Save it as UTF-8.") from error
    return to_transcript(parse_typed_part(text), title=file.stem)
