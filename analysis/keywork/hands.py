"""What hands can do: which fingers a fingering needs, and where one finger would be needed twice.

A finger holds one key, or two that the layout says lie together. Where the layout lets a
second finger reach a key, any assignment that works will do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, islice, product

from analysis.keywork.errors import ImpossibleFingering
from analysis.keywork.fingering import Fingering
from analysis.keywork.keys import Acts, Digit, Key
from analysis.keywork.layout import Layout

# Assignments tried at most; each pressed key that two fingers reach doubles their number.
_MAX_ASSIGNMENTS = 1024


@dataclass(frozen=True, slots=True)
class Conflict:
    """Keys that one finger can't hold at once, and the sentence that says so."""

    reason: str
    keys: tuple[Key, ...]


def find_conflicts(fingering: Fingering) -> tuple[Conflict, ...]:
    """Find what two hands can't do in a fingering.

    Every pressed key is given to one of the fingers that reach it; the assignment with the fewest
    conflicts counts, the usual fingers first. Returns one conflict for each pair of keys,
    in layout order; none if the fingering can be played.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> held = parse_fingering("T 1-- | --- | throat A", load_layout("soprano-17-6"))
    >>> find_conflicts(held)[0].reason
    "The left first finger can't hold its hole and the throat A key."
    """
    pressed = fingering.pressed
    assignments = islice(product(*(key.digits for key in pressed)), _MAX_ASSIGNMENTS)
    clashes = (
        _clashes(fingering.layout, dict(zip(pressed, digits, strict=True)))
        for digits in assignments
    )
    return min(clashes, key=len)


def check_playable(fingering: Fingering) -> None:
    """Raise `ImpossibleFingering` with every reason if two hands can't hold the fingering."""
    conflicts = find_conflicts(fingering)
    if conflicts:
        raise ImpossibleFingering(tuple(conflict.reason for conflict in conflicts))


def _clashes(layout: Layout, digit_of: Mapping[Key, Digit]) -> tuple[Conflict, ...]:
    return tuple(
        Conflict(_reason(digit_of[first], first, second), (first, second))
        for first, second in combinations(digit_of, 2)
        if digit_of[first] == digit_of[second] and not layout.is_pair(first, second)
    )


def _reason(digit: Digit, first: Key, second: Key) -> str:
    return f"The {digit.name} can't hold {_held(first)} and {_held(second)}."


def _held(key: Key) -> str:
    return "its hole" if key.acts is Acts.HOLE else f"the {key.name}"
