"""Choice of a part by its number, or of the one that a clarinet plays."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.notation.instrument_names import is_clarinet
from analysis.notation.transcript import PartHeading

NAME_CHARACTERS = 200


def choose_part(headings: Sequence[PartHeading], number: int) -> PartHeading | None:
    """Return the part of that number, None if there is none; 0 means a clarinet's, else the first.

    >>> parts = [PartHeading(1, "a", "Flute"), PartHeading(2, "b", "Clarinet in A")]
    >>> choose_part(parts, 0).id, choose_part(parts, 1).id, choose_part(parts, 3)
    ('b', 'a', None)
    """
    if number:
        return next((each for each in headings if each.number == number), None)
    for each in headings:
        if is_clarinet((each.name, *each.instruments, *each.sounds)):
            return each
    return headings[0]


def one_line(text: str) -> str:
    """Return a name in one line, not longer than names are.

    >>> one_line(" Clarinet\\n in A ")
    'Clarinet in A'
    """
    return " ".join(text.split())[:NAME_CHARACTERS]
