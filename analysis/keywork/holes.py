"""Hole states of a fingering, by the linkage of the keys.

Pads move with rings (a ring down or shaded, or a plate that is vented, still presses its vent
pad), with other keys (low E takes low F with it), or only while something else holds (an automatic
register vent). All of it is said by the layout.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from analysis.keywork.key_states import KeyStates
from analysis.keywork.keys import Hole, HoleState, Mover, State

_BY_FINGER = {
    State.UP: HoleState.OPEN,
    State.DOWN: HoleState.CLOSED,
    State.SHADED: HoleState.SHADED,
    State.VENTED: HoleState.VENTED,
}


def find_hole_states(fingering: KeyStates) -> Mapping[str, HoleState]:
    """Find the state of every hole, from the top of the tube down.

    A pad that any of its closers presses is closed; else one that any opener lifts is open; else
    the hole is as its finger leaves it, or as it stands by itself. Returns hole id -> state in
    the order of the layout. A shaded hole is not said to be open by any amount: that can't be
    known from the fingering.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> a4 = parse_fingering("--- | --- | throat A", load_layout("soprano-17-6"))
    >>> find_hole_states(a4)["throat-gs"].value
    'open'
    """
    return MappingProxyType({hole.id: _state(hole, fingering) for hole in fingering.layout.holes})


def _state(hole: Hole, fingering: KeyStates) -> HoleState:
    if any(_is_moving(mover, fingering) for mover in hole.closed_by):
        return HoleState.CLOSED
    if any(_is_moving(mover, fingering) for mover in hole.opened_by):
        return HoleState.OPEN
    if hole.finger_key_id is not None:
        return _BY_FINGER[fingering.state(hole.finger_key_id)]
    return HoleState.OPEN if hole.stands_open else HoleState.CLOSED


def _is_moving(mover: Mover, fingering: KeyStates) -> bool:
    return (
        fingering.state(mover.key_id) is not State.UP
        and all(fingering.state(key_id) is not State.UP for key_id in mover.while_down)
        and all(fingering.state(key_id) is State.UP for key_id in mover.while_up)
    )
