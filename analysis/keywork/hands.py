"""Assignment of fingers to keys, and conflicts: where one finger would be needed twice.

A finger holds one key, or two that the layout says lie together. Where the layout lets a
second finger reach a key, any assignment that works will do. A right thumb that carries the
instrument presses no key (`Layout.reach`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, islice, product

from analysis.keywork.errors import ImpossibleFingering
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Acts, Digit, Key
from analysis.keywork.layout import Layout
from analysis.keywork.right_thumb import RIGHT_THUMB, RightThumb

# Assignments tried at most; each pressed key that two fingers reach doubles their number.
_MAX_ASSIGNMENTS = 1024


@dataclass(frozen=True, slots=True)
class Conflict:
    """Keys that can't be held at once, or one that no finger reaches, and the reason in words.

    `thumb` is what the right thumb does, if that keeps it from holding one of them.
    """

    reason: str
    keys: tuple[Key, ...]
    thumb: RightThumb | None = None


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
    and each key that no finger reaches, in layout order; none if the fingering can be played.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> held = parse_fingering("T 1-- | --- | throat A", load_layout("soprano-17-6"))
    >>> find_conflicts(held)[0].reason
    "The left first finger can't hold its hole and the throat A key."
    """
    return find_clashes(fingering.layout, assign_fingers(fingering))


def assign_fingers(fingering: KeyStates) -> Mapping[Key, Digit]:
    """Say which finger holds each pressed key.

    Of all assignments the first with the fewest conflicts counts, the usual fingers first. A key
    that no finger reaches is given to the one made to work it. Returns key -> finger for the
    pressed keys, in layout order.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> held = parse_fingering("T R 123 | 1-- | side 3", load_layout("bass-low-c"))
    >>> [digit.name for key, digit in assign_fingers(held).items() if key.id == "side-3"]
    ['right thumb']
    """
    pressed, layout = fingering.pressed, fingering.layout
    best: dict[Key, Digit] = {}
    fewest = len(pressed) ** 2
    ways = product(*(layout.reach(key) or key.digits for key in pressed))
    for digits in islice(ways, _MAX_ASSIGNMENTS):
        digit_of = dict(zip(pressed, digits, strict=True))
        clashes = sum(1 for _ in _find_pairs_in_the_way(layout, digit_of))
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
        for digit in layout.reach(first)
        if digit in layout.reach(second)
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
        FingerPair(layout.reach(first)[0], first, second)
        for first, second in combinations(layout.keys, 2)
        if layout.reach(first) == layout.reach(second)
        and len(layout.reach(first)) == 1
        and not layout.is_pair(first, second)
    )


def check_playable(fingering: KeyStates) -> None:
    """Raise `ImpossibleFingering` with every reason if two hands can't hold the fingering."""
    conflicts = find_conflicts(fingering)
    if conflicts:
        raise ImpossibleFingering(tuple(conflict.reason for conflict in conflicts))


def find_clashes(layout: Layout, digit_of: Mapping[Key, Digit]) -> tuple[Conflict, ...]:
    """Find what two hands can't do if each key is held by the finger given."""
    beyond = [key for key in digit_of if not layout.reach(key)]
    return (
        *(Conflict(explain_beyond(layout, key), (key,), layout.right_thumb) for key in beyond),
        *_find_pairs_in_the_way(layout, digit_of),
    )


def explain_beyond(layout: Layout, key: Key) -> str:
    """Say why no finger reaches a key.

    >>> from analysis.keywork import customise, load_layout
    >>> bass = customise(load_layout("bass-low-c"), right_thumb=RightThumb.CARRIES)
    >>> explain_beyond(bass, bass.key("thumb-c"))
    'The right thumb carries the instrument, so no finger reaches the thumb low C key.'
    """
    return f"The right thumb {layout.right_thumb.reason}, so no finger reaches the {key.name}."


def is_kept_from_thumb(layout: Layout, key: Key) -> bool:
    """Tell whether the right thumb could press a key if it were free to."""
    return RIGHT_THUMB in key.digits and RIGHT_THUMB not in layout.reach(key)


def _find_pairs_in_the_way(layout: Layout, digit_of: Mapping[Key, Digit]) -> Iterator[Conflict]:
    for first, second in combinations(digit_of, 2):
        if digit_of[first] != digit_of[second] or layout.is_pair(first, second):
            continue
        if not (layout.reach(first) and layout.reach(second)):
            continue  # said of the key that is beyond reach
        kept = any(is_kept_from_thumb(layout, key) for key in (first, second))
        thumb = layout.right_thumb if kept else None
        yield Conflict(_reason(digit_of[first], first, second, thumb), (first, second), thumb)


def _reason(digit: Digit, first: Key, second: Key, thumb: RightThumb | None) -> str:
    because = f" (the right thumb {thumb.reason})" if thumb else ""
    return f"The {digit.name} can't hold {_held(first)} and {_held(second)}{because}."


def _held(key: Key) -> str:
    return "its hole" if key.acts is Acts.HOLE else f"the {key.name}"
