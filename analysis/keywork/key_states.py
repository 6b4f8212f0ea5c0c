"""Key states: the complete state of every key of a layout, so that a fingering can be set again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from analysis.keywork.errors import StateNotAllowed
from analysis.keywork.keys import Key, State
from analysis.keywork.layout import Layout


@dataclass(frozen=True, slots=True)
class KeyStates:
    """The state of every key, in layout order.

    Two are equal when the layout's id and version and all states are.

    >>> from analysis.keywork import load_layout
    >>> soprano = load_layout("soprano-17-6")
    >>> e4 = KeyStates.of(soprano, {"thumb": State.DOWN, "l1": State.DOWN})
    >>> [key.name for key in e4.pressed]
    ['left thumb', 'left first finger']
    >>> e4.replaced("l1", State.SHADED).has_half_hole
    True
    """

    layout: Layout
    states: tuple[State, ...]

    def __post_init__(self) -> None:
        if len(self.states) != len(self.layout.keys):
            raise ValueError(
                f"{len(self.states)} states for the {len(self.layout.keys)} keys "
                f"of {self.layout.name}; give each key one."
            )
        for key, state in zip(self.layout.keys, self.states, strict=True):
            if state not in key.states:
                raise StateNotAllowed(key.name, state, key.states)

    @classmethod
    def of(cls, layout: Layout, states: Mapping[str, State]) -> Self:
        """Make key states from the keys that are not up.

        Raises `UnknownKey` for a key that the layout lacks and `StateNotAllowed` for a state
        that a key can't take.
        """
        made = [State.UP] * len(layout.keys)
        for key_id, state in states.items():
            made[layout.index(key_id)] = State(state)
        return cls(layout, tuple(made))

    def state(self, key_id: str) -> State:
        """Find the state of one key; raises `UnknownKey`."""
        return self.states[self.layout.index(key_id)]

    def replaced(self, key_id: str, state: State) -> Self:
        """Make the key states that differ in this one key."""
        place = self.layout.index(key_id)
        return type(self)(
            self.layout, (*self.states[:place], State(state), *self.states[place + 1 :])
        )

    @property
    def pressed(self) -> tuple[Key, ...]:
        """The keys that are not up, in layout order."""
        return tuple(
            key
            for key, state in zip(self.layout.keys, self.states, strict=True)
            if state is not State.UP
        )

    @property
    def half_holes(self) -> tuple[Key, ...]:
        """The keys whose hole is half covered in a way that can't be set the same way twice.

        A finger rolled off its hole where the layout says so (`Key.rolled`), as the left first
        finger does in the altissimo, is ordinary and comes out the same each time, so it is not
        among them. Common practice, from memory.
        """
        return tuple(
            key
            for key, state in zip(self.layout.keys, self.states, strict=True)
            if state is State.SHADED and not self._is_ordinary_when_shaded(key)
        )

    @property
    def has_half_hole(self) -> bool:
        """Whether any half-hole is needed that can't be set the same way twice: `half_holes`.

        >>> from analysis.keywork import load_layout, parse_fingering
        >>> soprano, bass = load_layout("soprano-17-6"), load_layout("bass-low-eb")
        >>> parse_fingering("T R [1]23 | 1-- | G#/Eb", bass).has_half_hole
        False
        >>> parse_fingering("T R 1(2)- | ---", soprano).has_half_hole
        True
        """
        return bool(self.half_holes)

    def _is_ordinary_when_shaded(self, key: Key) -> bool:
        return any(
            all(self.state(other) is not State.UP for other in condition.while_down)
            and all(self.state(other) is State.UP for other in condition.while_up)
            for condition in key.rolled
        )
