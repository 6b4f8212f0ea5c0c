"""Changes against a base in few words, as they stand beside a small drawing."""

from __future__ import annotations

import re
from collections.abc import Iterable

from analysis.keywork.changes import Change
from analysis.keywork.keys import Acts, Key, State

_VERBS = {State.UP: "lift", State.SHADED: "half", State.VENTED: "vent", State.DOWN: "+"}
_FLAT = re.compile(r"\b([A-G])b\b")


def shorten_changes(changes: Iterable[Change]) -> str:
    """Say the changes shortly: what is lifted, half covered or vented, then what is added.

    Returns an empty text for none. The words of `describe_changes` go with it where room is.

    >>> from analysis.keywork import find_changes, load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> c_sharp_5 = parse_fingering("T R 123 | 123 | left F#", soprano)
    >>> lifted = parse_fingering("T R -23 | 123 | left F#, right E", soprano)
    >>> shorten_changes(find_changes(c_sharp_5, lifted))
    'lift left 1, + right E'
    >>> bass = load_layout("bass-low-eb")
    >>> down, vented = (parse_fingering(f"T R {left}23 | 12-", bass) for left in ("1", "[1]"))
    >>> shorten_changes(find_changes(down, vented))
    'vent left 1'
    """
    found = list(changes)
    words = []
    for state, verb in _VERBS.items():
        names = [short_name(each.key) for each in found if each.after is state]
        if state is State.DOWN:
            words += [f"{verb} {name}" for name in names]
        elif names:
            words.append(f"{verb} {' and '.join(names)}")
    return ", ".join(words)


def short_name(key: Key) -> str:
    """Name a key in few words: left 1, right E."""
    if key.acts is Acts.HOLE and key.token.isdigit():
        return f"{key.hand} {key.token}"
    name = key.name.removesuffix(" key") if len(key.token) == 1 else key.token
    return _FLAT.sub(r"\1♭", name.replace("#", "♯"))
