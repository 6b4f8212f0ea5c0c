"""Paired differences: the effect of each key on the pitch, from the player's own takes."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from typing import NamedTuple

from analysis.acoustics import Linkage
from analysis.finder.inputs import LoggedPitch
from analysis.finder.results import KeyEffect
from analysis.keywork import Key, Layout, State
from analysis.pitch import KINDS, Register, WrittenPitch, register_of

# Two fingerings one key apart that differ by more sound in different registers.
_FURTHEST_CENTS = 350.0


class _Measured(NamedTuple):
    """Where a key set sounded; `number` tells the logged pitches apart."""

    number: int
    register: Register
    cents: float


class _Change(NamedTuple):
    """Change of pitch by one key at one key set: lowest and highest cents, and who tells of it."""

    low_cents: float
    high_cents: float
    numbers: frozenset[int]


def key_effects(
    logs: Sequence[LoggedPitch],
    layout: Layout,
    *,
    kind_id: str = "b-flat-soprano",
    progress: Callable[[float], None] | None = None,
) -> tuple[KeyEffect, ...]:
    """Find what pressing each key did, from measured fingerings that differ in nothing else.

    Every pair one key apart that sounded within 350 cents of each other counts.

    Args:
        logs: measured pitches; those without an offset are left out.
        layout: the keywork of all of them.
        kind_id: whose notation the notes are in.
        progress: is told the share of the keys that are done, from 0 to 1; what it raises ends it.

    Returns:
        For each key and register with a pair: the lowest and highest change in cents, positive
        if pressing raises, and the number of logged pitches it rests on. In layout order.

    Limits: from two pairs, low and high are all that was seen, no bounds of what may be.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> f_sharp = WrittenPitch.from_canonical("F#5")
    >>> plain, crossed = "T R 123 | -2-", "T R 123 | -2- | right cross"
    >>> logs = [
    ...     LoggedPitch(parse_fingering(text, soprano), f_sharp, cents, 2.0)
    ...     for text, cents in ((plain, 2.0), (crossed, 45.0))
    ... ]
    >>> effect = key_effects(logs, soprano)[0]
    >>> effect.key.name, str(effect.register), effect.low_cents
    ('right cross key', 'clarion', 43.0)
    """
    measured = _group(logs, Linkage(layout), kind_id)
    seen: dict[tuple[int, Register], list[_Change]] = defaultdict(list)
    for place in range(len(layout.keys)):
        if progress is not None:
            progress(place / len(layout.keys))
        for register, change in _find_changes(measured, place):
            seen[place, register].append(change)
    return tuple(
        _describe(layout.keys[place], register, changes)
        for (place, register), changes in sorted(seen.items(), key=lambda item: _order(item[0]))
    )


def _find_changes(
    measured: dict[int, list[_Measured]], place: int
) -> Iterator[tuple[Register, _Change]]:
    """Find what the key at a place did at each key set: without it, and with it down."""
    up = 1 << place | 1 << place + 32
    for keys, without in measured.items():
        pressed = measured.get(keys | 1 << place)
        if keys & up or not pressed:
            continue
        by_register: dict[Register, list[_Measured]] = defaultdict(list)
        for each in without:
            by_register[each.register].append(each)
        for register, some in by_register.items():
            change = _compare(some, pressed)
            if change is not None:
                yield register, change


def _compare(without: Sequence[_Measured], pressed: Sequence[_Measured]) -> _Change | None:
    """Compare all with all that sounded near enough; sorted, so that many cost little more."""
    rising = sorted(pressed, key=lambda each: each.cents)
    heights = [each.cents for each in rising]
    effects: list[float] = []
    numbers: set[int] = set()
    reached = [0] * (len(rising) + 1)  # where runs of partners begin and end
    for low in without:
        first = bisect_left(heights, low.cents - _FURTHEST_CENTS)
        end = bisect_right(heights, low.cents + _FURTHEST_CENTS)
        if first < end:
            effects += [heights[first] - low.cents, heights[end - 1] - low.cents]
            numbers.add(low.number)
            reached[first] += 1
            reached[end] -= 1
    if not effects:
        return None
    open_runs = accumulate(reached)
    partners = {each.number for each, count in zip(rising, open_runs, strict=False) if count}
    return _Change(min(effects), max(effects), frozenset(numbers | partners))


def _group(
    logs: Sequence[LoggedPitch], linkage: Linkage, kind_id: str
) -> dict[int, list[_Measured]]:
    measured: dict[int, list[_Measured]] = defaultdict(list)
    # notes and fingerings come again and again: each is looked at once
    heights: dict[WrittenPitch, tuple[Register, float]] = {}
    codes: dict[tuple[State, ...], int] = {}
    for number, log in enumerate(logs):
        if log.offset_cents is None:
            continue
        if log.written not in heights:
            treble = KINDS[kind_id].in_treble_notation(log.written)
            heights[log.written] = register_of(treble), float(log.written.cents)
        if log.fingering.states not in codes:
            codes[log.fingering.states] = linkage.encode(log.fingering)
        register, cents = heights[log.written]
        found = _Measured(number, register, cents + log.offset_cents)
        measured[codes[log.fingering.states]].append(found)
    return dict(measured)


def _order(name: tuple[int, Register]) -> tuple[int, int]:
    return name[0], list(Register).index(name[1])


def _describe(key: Key, register: Register, changes: Sequence[_Change]) -> KeyEffect:
    numbers = frozenset().union(*(each.numbers for each in changes))
    low = min(each.low_cents for each in changes)
    high = max(each.high_cents for each in changes)
    return KeyEffect(key, register, low, high, len(numbers))
