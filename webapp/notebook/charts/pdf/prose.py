"""Makes a player's text fit to print: any script, any length, nothing but text.

Text reaches the typesetter as values, so it can't become markup; what is left to do is to drop what
can't be printed (control characters, halves of surrogate pairs, marks that override the reading
direction of their surroundings), to shorten, and to let very long words break.

Conventions. `Prose` holds lines; a line is a sequence of pieces with an invisible place to break
between them, so that copied text stays whole. A text of the player's own is read in the direction
of its first letter that has one; a line of the chart with such a text in it keeps the chart's, so
that a name in Hebrew or Arabic is read from right to left and what stands beside it is not.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace

from analysis.plain_text import is_printable

ELLIPSIS = "…"
_LONGEST_UNBROKEN, _PIECE = 18, 6

# Explicit direction marks of Unicode's bidirectional algorithm (UAX 9, section 2): embeddings,
# overrides and isolates. Plain text needs none of them, and unbalanced ones reach past their text.
_DIRECTION_MARKS = re.compile("[\u202a-\u202e\u2066-\u2069]")
# Scripts written without spaces bring their own places to break.
_UNBROKEN_RUN = re.compile(
    rf"[^\s\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u2e80-\ua4cf\uac00-\ud7af]{{{_LONGEST_UNBROKEN},}}"
)


@dataclass(frozen=True, slots=True)
class Prose:
    """Text made ready to print: its lines in pieces, and which way it is read."""

    lines: tuple[tuple[str, ...], ...]
    direction: str
    is_shortened: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing is left to print."""
        return not self.lines


def prepare(text: str, *, longest: int | None = None, most_lines: int | None = None) -> Prose:
    """Clean a text, cut it to `longest` characters and `most_lines` lines, and let it break.

    It is one text of the player's own and decides how it is read; see `compose`.

    >>> prepare("a\\x00 note").lines
    (('a note',),)
    """
    cleaned = [clean(line) for line in text.splitlines()]
    lines = [line for line in cleaned if line]
    kept, is_shortened = _shorten(lines, longest, most_lines)
    return Prose(
        lines=tuple(_cut_long_words(line) for line in kept),
        direction=_find_direction(lines),
        is_shortened=is_shortened,
    )


def compose(parts: Iterable[str], between: str, *, longest: int | None = None) -> Prose:
    """Make one line of the chart's own from parts that are there, whatever their scripts."""
    line = prepare(between.join(filter(None, parts)), longest=longest)
    return replace(line, direction="ltr")


def clean(line: str) -> str:
    """One line of printable text: unprintable characters go, white space becomes single spaces."""
    without_marks = _DIRECTION_MARKS.sub("", line)
    spaced = " ".join(without_marks.split())
    printable = "".join(character for character in spaced if is_printable(character))
    return " ".join(printable.split())  # what stood between two spaces may have gone


def clean_line(text: str, *, longest: int) -> str:
    """Any text as one line of at most `longest` characters."""
    line = " ".join(part for part in map(clean, text.splitlines()) if part)
    return line if len(line) <= longest else _cut(line, longest)


def _shorten(
    lines: list[str], longest: int | None, most_lines: int | None
) -> tuple[list[str], bool]:
    kept: list[str] = []
    room = longest if longest is not None else sum(map(len, lines))
    for line in lines[:most_lines]:
        if len(line) > room:
            kept.append(_cut(line, room))
            return kept, True
        kept.append(line)
        room -= len(line)
    if len(kept) < len(lines):
        kept[-1] += ELLIPSIS
    return kept, len(kept) < len(lines)


def _cut(line: str, longest: int) -> str:
    """Cut at the last space if that is not far back, never before a combining mark."""
    end = longest
    while 0 < end < len(line) and unicodedata.combining(line[end]):
        end -= 1
    space = line.rfind(" ", end * 2 // 3, end + 1)
    return line[: space if space > 0 else end].rstrip(f" .,;:{ELLIPSIS}") + ELLIPSIS


def _cut_long_words(line: str) -> tuple[str, ...]:
    pieces: list[str] = []
    done = 0
    for run in _UNBROKEN_RUN.finditer(line):
        cuts = range(run.start() + _PIECE, run.end(), _PIECE)
        for cut in cuts:
            if not unicodedata.combining(line[cut]):
                pieces.append(line[done:cut])
                done = cut
    return (*pieces, line[done:])


def _find_direction(lines: list[str]) -> str:
    for character in "".join(lines):
        kind = unicodedata.bidirectional(character)
        if kind in {"R", "AL"}:
            return "rtl"
        if kind == "L":
            return "ltr"
    return "ltr"
