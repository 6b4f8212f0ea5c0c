"""Text for screen readers: a fingering in words, for those who listen to the page."""

from __future__ import annotations

from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Hand, Key, State


def spell_out(fingering: KeyStates) -> str:
    """Say a fingering in words: thumb and register, then each hand with its keys.

    Returns such words as 'thumb and register; left 1 2, right cross key', or 'nothing pressed'.
    A shaded hole is named with its finger.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> spell_out(parse_fingering("T R (1)2- | 1-- | right cross", soprano))
    'thumb and register; left 2, left first finger shaded; right 1, right cross key'
    """
    layout = fingering.layout
    prefix = " and ".join(
        key.spoken if fingering.state(key.id) is State.DOWN else f"{key.spoken} shaded"
        for key in layout.select(layout.text.prefix)
        if fingering.state(key.id) is not State.UP
    )
    left = _spell_hand(fingering, Hand.LEFT, layout.select(layout.text.left))
    right = _spell_hand(fingering, Hand.RIGHT, layout.select(layout.text.right))
    return "; ".join(filter(None, (prefix, left, right))) or "nothing pressed"


def _spell_hand(fingering: KeyStates, hand: Hand, holes: tuple[Key, ...]) -> str:
    down = [key.token for key in holes if fingering.state(key.id) is State.DOWN]
    shaded = [f"{key.name} shaded" for key in holes if fingering.state(key.id) is State.SHADED]
    others = [
        key.name if fingering.state(key.id) is State.DOWN else f"{key.name} shaded"
        for key in fingering.layout.extras
        if key.hand is hand and fingering.state(key.id) is not State.UP
    ]
    covered = [f"{hand} {' '.join(down)}"] if down else []
    return ", ".join([*covered, *shaded, *others])
