"""Assignment of fingers to keys, and conflicts: where one finger would be needed twice.

A finger holds one key, or two that the layout says lie together. Where the layout lets a
second finger reach a key, any assignment that works will do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, islice, product

from analysis.keywork.errors import ImpossibleFingering
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Acts, Digit, Key
from analysis.keywork.layout import Layout

# Assignments tried at most; each pressed key that two fingers reach doubles their number.
_MAX_ASSIGNMENTS = 1024


@dataclass(frozen=True, slots=True)
class Conflict:
    """Keys that one finger can't hold at once, and the sentence that says so."""

    reason: str
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class FingerPair:
    """Two keys and the finger that works both."""

    digit: Digit
    first: Key
    second: Key


def find_conflicts(fingering: KeyStates) -> tuple[Conflict, ...]:
    """Find what two hands can't do in a fingering.

    Every pressed key is given to one of the fingers that reach it; the assignment with the fewest
    conflicts counts, the usual fingers first. Returns one conflict for each pair of keys,
    in layout order; none if the fingering can be played.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> held = parse_fingering("T 1-- | --- | throat A", load_layout("soprano-17-6"))
    >>> find_conflicts(held)[0].reason
    "The left first finger can't hold its hole and the throat A key."
    """
    return find_clashes(fingering.layout, assign_fingers(fingering))


def assign_fingers(fingering: KeyStates) -> Mapping[Key, Digit]:
    """Say which finger holds each pressed key.

    Of all assignments the first with the fewest conflicts counts, the usual fingers first. Returns
    key -> finger for the pressed keys, in layout order.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> held = parse_fingering("T R 123 | 1-- | side 3", load_layout("bass-low-c"))
    >>> [digit.name for key, digit in assign_fingers(held).items() if key.id == "side-3"]
    ['right thumb']
    """
    pressed = fingering.pressed
    best: dict[Key, Digit] = {}
    fewest = len(pressed) ** 2
    for digits in islice(product(*(key.digits for key in pressed)), _MAX_ASSIGNMENTS):
        digit_of = dict(zip(pressed, digits, strict=True))
        clashes = len(find_clashes(fingering.layout, digit_of))
        if clashes == 0:
            return digit_of
        if clashes < fewest:
            best, fewest = digit_of, clashes
    return best


def find_pairs(layout: Layout) -> tuple[FingerPair, ...]:
    """List the pairs of keys that one finger can hold at once.

    A pair stands once for each finger that reaches both. Returns the pairs in layout order.

    >>> from analysis.keywork import load_layout
    >>> pairs = find_pairs(load_layout("soprano-17-6"))
    >>> [(pair.first.token, pair.second.token) for pair in pairs if pair.digit.finger == "first"]
    [('throat A', 'throat G#'), ('side 1', 'side 2'), ('side 3', 'side 4')]
    """
    return tuple(
        FingerPair(digit, first, second)
        for first, second in combinations(layout.keys, 2)
        if layout.is_pair(first, second)
        for digit in first.digits
        if digit in second.digits
    )


def find_competition(layout: Layout) -> tuple[FingerPair, ...]:
    """List the pairs of keys for which two fingers would be needed, but only one is there.

    Both keys are worked by one finger and by no other, and it can't hold the two at once. Returns
    the pairs in layout order.

    >>> from analysis.keywork import load_layout
    >>> pairs = find_competition(load_layout("soprano-17-6"))
    >>> [pair.second.token for pair in pairs if pair.first.id == "r1"]
    ['side 1', 'side 2', 'side 3', 'side 4']
    """
    return tuple(
        FingerPair(first.digit, first, second)
        for first, second in combinations(layout.keys, 2)
        if first.digits == second.digits == (first.digit,) and not layout.is_pair(first, second)
    )


def check_playable(fingering: KeyStates) -> None:
    """Raise `ImpossibleFingering` with every reason if two hands can't hold the fingering."""
    conflicts = find_conflicts(fingering)
    if conflicts:
        raise ImpossibleFingering(tuple(conflict.reason for conflict in conflicts))


def find_clashes(layout: Layout, digit_of: Mapping[Key, Digit]) -> tuple[Conflict, ...]:
    """Find what two hands can't do if each key is held by the finger given."""
    return tuple(
        Conflict(_reason(digit_of[first], first, second), (first, second))
        for first, second in combinations(digit_of, 2)
        if digit_of[first] == digit_of[second] and not layout.is_pair(first, second)
    )


def _reason(digit: Digit, first: Key, second: Key) -> str:
    return f"The {digit.name} can't hold {_held(first)} and {_held(second)}."


def _held(key: Key) -> str:
    return "its hole" if key.acts is Acts.HOLE else f"the {key.name}"
