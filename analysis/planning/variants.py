"""Variants of a fingering that players use for the way to the next note.

Two families, common practice, from memory: throat notes with the right hand kept down, before and
after the break, and altissimo notes with and without the E flat key. Their pitch moves by a few
cents, so that each counts as ordinary with an uncertainty of its own until it is measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analysis.keywork import Acts, Finger, Hand, Key, KeyStates, Layout, State, find_conflicts
from analysis.pitch import Register


@dataclass(frozen=True, slots=True)
class FingeringVariant:
    """A variant, in words what it changes, and its own uncertainty in cents."""

    fingering: KeyStates
    words: str
    sigma_cents: float


RIGHT_HAND_SIGMA_CENTS, E_FLAT_SIGMA_CENTS = 6.0, 10.0


def list_variants(fingering: KeyStates, register: Register) -> tuple[FingeringVariant, ...]:
    """List the variants of a fingering for a note of a register, as far as hands can hold them.

    >>> from analysis.keywork import format_fingering, load_layout, parse_fingering
    >>> a4 = parse_fingering("--- | --- | throat A", load_layout("soprano-17-6"))
    >>> [format_fingering(each.fingering) for each in list_variants(a4, Register.THROAT)]
    ['--- | 123 | throat A']
    """
    found = {
        Register.THROAT: _keep_right_hand_down,
        Register.ALTISSIMO: _change_e_flat_key,
    }.get(register, _list_none)
    return tuple(each for each in found(fingering) if not find_conflicts(each.fingering))


def _list_none(fingering: KeyStates) -> Iterator[FingeringVariant]:
    del fingering
    yield from ()


def _keep_right_hand_down(fingering: KeyStates) -> Iterator[FingeringVariant]:
    holes = fingering.layout.text.right
    if any(fingering.state(each) is not State.UP for each in holes):
        return
    kept = fingering
    for each in holes:
        kept = kept.replaced(each, State.DOWN)
    yield FingeringVariant(kept, "right hand kept down", RIGHT_HAND_SIGMA_CENTS)


def _change_e_flat_key(fingering: KeyStates) -> Iterator[FingeringVariant]:
    key = _find_e_flat_key(fingering.layout)
    if key is None:
        return
    is_down = fingering.state(key.id) is not State.UP
    changed = fingering.replaced(key.id, State.UP if is_down else State.DOWN)
    words = f"{'without' if is_down else 'with'} {key.name}"
    yield FingeringVariant(changed, words, E_FLAT_SIGMA_CENTS)


def _find_e_flat_key(layout: Layout) -> Key | None:
    """Find the key that the right little finger opens: the others of its cluster close."""
    return next(
        (
            key
            for key in layout.keys
            if (key.hand, key.finger) == (Hand.RIGHT, Finger.LITTLE) and key.acts is Acts.OPENS
        ),
        None,
    )
