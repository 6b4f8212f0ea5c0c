"""Faults in the text of a layout, each with its line, as the editor shows them."""

import re
from dataclasses import dataclass

from analysis.keywork import LayoutError
from analysis.pitch import Sentence
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.note_refusals import said_of

# How the reader of TOML says where it stopped (Python's tomllib).
_STOPPED_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_AT_END = "(at end of document)"
_LINES_AROUND = 2


@dataclass(frozen=True, slots=True)
class NumberedLine:
    """One line of the text with its number."""

    number: int
    text: str
    is_meant: bool


@dataclass(frozen=True, slots=True)
class LayoutProblem:
    """A sentence, the line it speaks of, and the lines around that."""

    message: Sentence | str
    line: int | None = None
    excerpt: tuple[NumberedLine, ...] = ()


def problem_of(error: LayoutError | FieldRefused, text: str) -> LayoutProblem:
    """Say what is wrong with a text and show the line."""
    if isinstance(error, FieldRefused):
        return LayoutProblem(said_of(error))
    line = error.line or _find_stop(error.problem, text)
    place = "" if error.place == "the file" else f"{error.place[0].upper()}{error.place[1:]}: "
    return LayoutProblem(f"{place}{error.problem}.", line, _excerpt(text, line))


def _find_stop(problem: str, text: str) -> int | None:
    stop = _STOPPED_AT.search(problem)
    if stop is not None:
        return int(stop[1])
    return max(1, len(text.splitlines())) if _AT_END in problem else None


def _excerpt(text: str, line: int | None) -> tuple[NumberedLine, ...]:
    if line is None:
        return ()
    lines = text.splitlines()
    first, last = max(1, line - _LINES_AROUND), min(len(lines), line + _LINES_AROUND)
    return tuple(
        NumberedLine(number, lines[number - 1], number == line) for number in range(first, last + 1)
    )
