"""Difference between a fingering and the one it came from; computed, never typed in."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from analysis.keywork.errors import DifferentLayouts
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Acts, Key, State


class Effect(StrEnum):
    """What a change does to the hole the key works."""

    OPENS = "opens"
    CLOSES = "closes"
    SHADES = "shades"
    VENTS = "vents"


_PARTLY = {State.SHADED: Effect.SHADES, State.VENTED: Effect.VENTS}


@dataclass(frozen=True, slots=True)
class Change:
    """One key that is not as it was."""

    key: Key
    before: State
    after: State

    @property
    def effect(self) -> Effect:
        """Effect on the key's hole: opened, closed, shaded or vented."""
        if self.after in _PARTLY:
            return _PARTLY[self.after]
        opens_when_pressed = self.key.acts is Acts.OPENS
        is_pressed = self.after is State.DOWN
        return Effect.OPENS if is_pressed == opens_when_pressed else Effect.CLOSES


def find_changes(base: KeyStates, fingering: KeyStates) -> tuple[Change, ...]:
    """Find the keys that differ from a base fingering.

    Compares key by key. Returns one change for each differing key, in layout order. Raises
    `DifferentLayouts` if the two do not belong to the same layout and version.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> f_sharp_5 = parse_fingering("T R 123 | -2-", soprano)
    >>> raised = parse_fingering("T R 123 | -2- | right cross", soprano)
    >>> describe_changes(find_changes(f_sharp_5, raised))
    'adds right cross key (opens)'
    """
    if base.layout != fingering.layout:
        raise DifferentLayouts(base.layout.name, fingering.layout.name)
    pairs = zip(fingering.layout.keys, base.states, fingering.states, strict=True)
    return tuple(Change(key, before, after) for key, before, after in pairs if before != after)


def describe_changes(changes: tuple[Change, ...]) -> str:
    """Say the changes in words: what is added, then lifted, then shaded, then vented.

    Returns 'no change' for none. For a hole that was or is shaded or vented it says what it was
    before.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> c_sharp_5 = parse_fingering("T R 123 | 123 | left F#", soprano)
    >>> shaded = parse_fingering("T R (1)23 | 123 | left F#, right E", soprano)
    >>> describe_changes(find_changes(c_sharp_5, shaded))
    'adds right E key (closes), shades left first finger (was closed)'
    """
    order = (State.DOWN, State.UP, State.SHADED, State.VENTED)
    ordered = sorted(changes, key=lambda change: order.index(change.after))
    return ", ".join(_describe(change) for change in ordered) or "no change"


def _describe(change: Change) -> str:
    name = change.key.name
    if change.after in _PARTLY:
        return f"{change.effect} {name} (was {'closed' if change.before is State.DOWN else 'open'})"
    verb = "adds" if change.after is State.DOWN else "lifts"
    before = f", was {change.before}" if change.before in _PARTLY else ""
    return f"{verb} {name} ({change.effect}{before})"
