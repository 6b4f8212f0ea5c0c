"""Acoustic equality of fingerings: other keys, the same holes open."""

from __future__ import annotations

from analysis.keywork.holes import find_hole_states
from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import HoleState

_LETTERS = {
    HoleState.OPEN: "o",
    HoleState.CLOSED: "c",
    HoleState.SHADED: "s",
    HoleState.VENTED: "v",
}


def hole_signature(fingering: KeyStates) -> str:
    """Write the state of every hole as a short text, to group fingerings by.

    One letter for each hole from the top of the tube down (o open, c closed, s shaded, v
    vented), after the layout's id and version: holes of different keywork are never the same.
    Optional keys and names make no difference, since the holes of a layout stay.

    Limits: how far a shaded hole is covered is not part of a fingering, so two fingerings with
    the same holes shaded have one signature and may yet sound a little apart.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> hole_signature(parse_fingering("--- | --- | throat A", load_layout("soprano-17-6")))
    'soprano-17-6@1:cccoooocoooccocoocoocooo'
    """
    layout = fingering.layout
    letters = "".join(_LETTERS[state] for state in find_hole_states(fingering).values())
    return f"{layout.id}@{layout.version}:{letters}"


def are_acoustically_equal(first: KeyStates, second: KeyStates) -> bool:
    """Tell whether two fingerings leave the same holes open, such as with duplicate keys.

    Compares hole by hole; false for fingerings of different layouts. For shaded holes the limits
    of `hole_signature` hold.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> left, right = (parse_fingering(f"T 123 | 123 | {side} E", soprano)
    ...                for side in ("left", "right"))
    >>> are_acoustically_equal(left, right)
    True
    """
    return hole_signature(first) == hole_signature(second)
