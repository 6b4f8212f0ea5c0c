"""Text for screen readers: a fingering in words, for those who listen to the page."""

from __future__ import annotations

from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Hand, Key, State

_PARTLY = frozenset({State.SHADED, State.VENTED})


def spell_out(fingering: KeyStates) -> str:
    """Say a fingering in words: thumb and register, then each hand with its keys.

    Returns such words as 'thumb and register; left 1 2, right cross key', or 'nothing pressed'.
    A shaded hole is named with its finger, and so is a plate that is vented.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> spell_out(parse_fingering("T R (1)2- | 1-- | right cross", soprano))
    'thumb and register; left 2, left first finger shaded; right 1, right cross key'
    """
    layout = fingering.layout
    prefix = " and ".join(
        key.spoken if fingering.state(key.id) is State.DOWN else _partly(fingering, key, key.spoken)
        for key in layout.select(layout.text.prefix)
        if fingering.state(key.id) is not State.UP
    )
    left = _spell_hand(fingering, Hand.LEFT, layout.select(layout.text.left))
    right = _spell_hand(fingering, Hand.RIGHT, layout.select(layout.text.right))
    return "; ".join(filter(None, (prefix, left, right))) or "nothing pressed"


def _spell_hand(fingering: KeyStates, hand: Hand, holes: tuple[Key, ...]) -> str:
    down = [key.token for key in holes if fingering.state(key.id) is State.DOWN]
    partly = [_partly(fingering, key) for key in holes if fingering.state(key.id) in _PARTLY]
    others = [
        key.name if fingering.state(key.id) is State.DOWN else _partly(fingering, key)
        for key in fingering.layout.extras
        if key.hand is hand and fingering.state(key.id) is not State.UP
    ]
    covered = [f"{hand} {' '.join(down)}"] if down else []
    return ", ".join([*covered, *partly, *others])


def _partly(fingering: KeyStates, key: Key, name: str = "") -> str:
    return f"{name or key.name} {fingering.state(key.id)}"
