"""Paired differences: the effect of each key on the pitch, from the player's own takes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from analysis.acoustics import Linkage
from analysis.finder.inputs import LoggedPitch
from analysis.finder.results import KeyEffect
from analysis.keywork import Key, Layout
from analysis.pitch import KINDS, Register, WrittenPitch, register_of

# Two fingerings one key apart that differ by more sound in different registers.
_FURTHEST_CENTS = 350.0


@dataclass(frozen=True, slots=True)
class _Measured:
    """Where a key set sounded; `number` tells the logged pitches apart."""

    number: int
    written: WrittenPitch
    cents: float


class _Pair(NamedTuple):
    """A key set without a key and with it."""

    low: _Measured
    high: _Measured


def key_effects(
    logs: Sequence[LoggedPitch], layout: Layout, *, kind_id: str = "b-flat-soprano"
) -> tuple[KeyEffect, ...]:
    """Find what pressing each key did, from measured fingerings that differ in nothing else.

    Every pair one key apart that sounded within 350 cents of each other counts.

    Args:
        logs: measured pitches; those without an offset are left out.
        layout: the keywork of all of them.
        kind_id: whose notation the notes are in.

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
    measured = _group(logs, Linkage(layout))
    seen: dict[tuple[int, Register], list[_Pair]] = defaultdict(list)
    for place in range(len(layout.keys)):
        for pair in _find_pairs(measured, place):
            seen[place, _find_register(pair.low.written, kind_id)].append(pair)
    return tuple(
        _describe(layout.keys[place], register, pairs)
        for (place, register), pairs in sorted(seen.items(), key=lambda item: _order(item[0]))
    )


def _find_pairs(measured: dict[int, list[_Measured]], place: int) -> Iterator[_Pair]:
    """Find the pairs that differ only in the key at a place: without it, and with it down."""
    up = 1 << place | 1 << place + 32
    for keys, without in measured.items():
        if keys & up:
            continue
        for low, high in product(without, measured.get(keys | 1 << place, ())):
            if abs(high.cents - low.cents) <= _FURTHEST_CENTS:
                yield _Pair(low, high)


def _group(logs: Sequence[LoggedPitch], linkage: Linkage) -> dict[int, list[_Measured]]:
    measured: dict[int, list[_Measured]] = defaultdict(list)
    for number, log in enumerate(logs):
        if log.offset_cents is not None:
            cents = float(log.written.cents) + log.offset_cents
            measured[linkage.encode(log.fingering)].append(_Measured(number, log.written, cents))
    return dict(measured)


def _find_register(written: WrittenPitch, kind_id: str) -> Register:
    return register_of(KINDS[kind_id].in_treble_notation(written))


def _order(name: tuple[int, Register]) -> tuple[int, int]:
    return name[0], list(Register).index(name[1])


def _describe(key: Key, register: Register, pairs: Sequence[_Pair]) -> KeyEffect:
    effects = [pair.high.cents - pair.low.cents for pair in pairs]
    takes = {one.number for pair in pairs for one in pair}
    return KeyEffect(key, register, min(effects), max(effects), len(takes))
