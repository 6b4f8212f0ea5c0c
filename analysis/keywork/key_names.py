"""Normalisation of key names, by which typed ones are compared.

Typing is met half way: capitals, spaces, music signs and a trailing "key" make no difference.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from analysis.keywork.keys import Key
from analysis.keywork.layout import Layout, kept_with_layout

DASHES = "-‐‑‒–—−_"
_SIGNS = str.maketrans({"♯": "#", "♭": "b", **dict.fromkeys(DASHES, "-")})


def plain(text: str) -> str:
    """Write music signs and dashes as they are on a keyboard, character for character.

    >>> plain("G♯/E♭ – —")
    'G#/Eb - -'
    """
    return text.translate(_SIGNS)


def fold(text: str) -> str:
    """Bring a typed name into the form in which names are compared.

    >>> fold("Right  E key") == fold("right e")
    True
    """
    folded = "".join(plain(text).casefold().split())
    return folded.removesuffix("key") if folded != "key" else folded


def typed_names(layout: Layout, key: Key) -> tuple[str, ...]:
    """List every name under which a key may be typed as a word.

    The digit of a hole is no such name: it means a hole of the hand it stands in.
    """
    if key.id in layout.text.left or key.id in layout.text.right:
        return (key.name, *key.aliases)
    return (key.token, key.name, *key.aliases)


@kept_with_layout
def index_names(layout: Layout) -> Mapping[str, Key]:
    """Find for every folded name the key it means."""
    return {fold(name): key for key in layout.keys for name in typed_names(layout, key)}


def is_hand(text: str, layout: Layout) -> bool:
    """Tell whether a text has only what can stand in a hand: prefix letters, digits, dashes."""
    return _hand_pattern(layout).fullmatch(plain(text)) is not None


@kept_with_layout
def _hand_pattern(layout: Layout) -> re.Pattern[str]:
    tokens = "|".join(re.escape(key.token) for key in layout.select(layout.text.prefix))
    letters = f"(?:{tokens})|" if tokens else ""
    return re.compile(rf"(?:{letters}[\s\d()\[\]½-])*", re.IGNORECASE)
