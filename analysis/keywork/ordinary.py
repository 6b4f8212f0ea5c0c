"""Ordinary chromatic fingerings of a layout, where every derivation starts; those to try above.

They are part of the layout's file; the notes are written pitches in treble notation. Fingerings to
try were written down from memory for notes that have no ordinary fingering: nothing says that they
sound there on a given instrument.
"""

from __future__ import annotations

from dataclasses import dataclass

from analysis.keywork.errors import LayoutError, UnreadableFingering
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import OrdinaryLine
from analysis.keywork.layout import Layout, kept_with_layout
from analysis.keywork.text import format_fingering, parse_fingering
from analysis.pitch import WrittenPitch


@dataclass(frozen=True, slots=True)
class OrdinaryFingering:
    """One ordinary fingering, or one to try; `choice` 1 is the usual one of its note."""

    written: WrittenPitch
    fingering: KeyStates
    choice: int
    remark: str
    is_to_try: bool = False


@kept_with_layout
def ordinary_fingerings(layout: Layout) -> tuple[OrdinaryFingering, ...]:
    """List the ordinary fingerings of a layout, from low to high, the usual one of a note first.

    They are read once for each layout.

    >>> from analysis.keywork import format_fingering, load_layout
    >>> lowest = ordinary_fingerings(load_layout("soprano-17-6"))[0]
    >>> lowest.written.canonical, format_fingering(lowest.fingering)
    ('E3', 'T 123 | 123 | right E')
    """
    return tuple(one for one in read_ordinary(layout) if not one.is_to_try)


@kept_with_layout
def fingerings_to_try(layout: Layout) -> tuple[OrdinaryFingering, ...]:
    """List the fingerings to try of a layout, from low to high.

    >>> from analysis.keywork import load_layout
    >>> highest = fingerings_to_try(load_layout("soprano-17-6"))[-1]
    >>> highest.written.canonical, highest.is_to_try
    ('C7', True)
    """
    return tuple(one for one in read_ordinary(layout) if one.is_to_try)


@kept_with_layout
def read_ordinary(layout: Layout) -> tuple[OrdinaryFingering, ...]:
    """Read the lines of a layout's list, once for each layout.

    Raises `LayoutError` naming the note if a line of the layout is no fingering in canonical
    text form, if a note's choices are not numbered 1, 2, 3, or if some are ordinary and some to
    try.
    """
    read = [_read(layout, line) for line in layout.ordinary]
    read.sort(key=lambda one: (one.written.cents, one.choice))
    _check_choices(layout, read)
    return tuple(read)


def neighbours(
    layout: Layout, written: WrittenPitch
) -> tuple[OrdinaryFingering | None, OrdinaryFingering | None]:
    """Find the usual fingerings of the nearest notes strictly below and strictly above.

    `written` is a written pitch in treble notation. Returns (below, above); None where the
    layout's ordinary notes end.

    >>> from analysis.keywork import load_layout
    >>> from analysis.pitch import WrittenPitch
    >>> target = WrittenPitch.from_canonical("D5-50c")
    >>> [near.written.canonical for near in neighbours(load_layout("soprano-17-6"), target)]
    ['C#5', 'D5']
    """
    usual = [one for one in ordinary_fingerings(layout) if one.choice == 1]
    below = [one for one in usual if one.written.cents < written.cents]
    above = [one for one in usual if one.written.cents > written.cents]
    return (below[-1] if below else None, above[0] if above else None)


def _read(layout: Layout, line: OrdinaryLine) -> OrdinaryFingering:
    place = f"fingering {line.note!r}, choice {line.choice}"
    try:
        fingering = parse_fingering(line.text, layout)
    except UnreadableFingering as error:
        raise LayoutError(layout.id, place, str(error)) from error
    canonical = format_fingering(fingering)
    if canonical != line.text:
        raise LayoutError(layout.id, place, f"write it as {canonical!r}")
    written = WrittenPitch.from_canonical(line.note)
    return OrdinaryFingering(written, fingering, line.choice, line.remark, line.is_to_try)


def _check_choices(layout: Layout, lines: list[OrdinaryFingering]) -> None:
    expected: dict[WrittenPitch, int] = {}
    for one in lines:
        expected[one.written] = expected.get(one.written, 0) + 1
        if one.choice != expected[one.written]:
            place = f"fingering {one.written.canonical!r}"
            raise LayoutError(layout.id, place, f"choice {expected[one.written]} is missing")
    to_try = {one.written for one in lines if one.is_to_try}
    both = [one.written for one in lines if one.written in to_try and not one.is_to_try]
    if both:
        place = f"fingering {both[0].canonical!r}"
        raise LayoutError(layout.id, place, "a note is ordinary, or to try; not both")
