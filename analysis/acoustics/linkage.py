"""Keys to holes in bit sets, for many fingerings at once.

A key set is one 64-bit number: bit i for key i of the layout down, bit 32 + i for it shaded or
vented (no key can be both). A hole set is one too: bit i for hole i of the layout open, bit 32 + i
for it shaded or vented. Both are made from the layout alone, by the rules of
`analysis.keywork.holes` and `analysis.keywork.hands`, and agree with them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.tube_model import CLOSED, OPEN, SHADED, States
from analysis.keywork import Digit, Key, KeyStates, Layout, State
from analysis.keywork.keys import Hole, Mover

Bits = NDArray[np.uint64]

# A key that is shaded or vented stands so many bits above the same key that is down.
KEY_BITS = 32
_LOW = np.uint64((1 << KEY_BITS) - 1)


@dataclass(frozen=True)
class Linkage:
    """A layout's keys and holes in bits; raises `ValueError` beyond 32 keys or holes."""

    layout: Layout

    def __post_init__(self) -> None:
        if max(len(self.layout.keys), len(self.layout.holes)) > KEY_BITS:
            raise ValueError(f"{self.layout.name} has more than {KEY_BITS} keys or holes.")

    def encode(self, fingering: KeyStates) -> int:
        """Write a fingering as a key set."""
        codes = {
            State.UP: 0,
            State.DOWN: 1,
            State.SHADED: 1 << KEY_BITS,
            State.VENTED: 1 << KEY_BITS,
        }
        return sum(codes[state] << place for place, state in enumerate(fingering.states))

    def decode(self, keys: int) -> KeyStates:
        """Read a key set as a fingering."""
        states = (_state(int(keys), i, key) for i, key in enumerate(self.layout.keys))
        return KeyStates(self.layout, tuple(states))

    @property
    def _key_count(self) -> int:
        return len(self.layout.keys)

    def find_holes(self, keys: Bits) -> Bits:
        """Find the hole set of each key set; the same as `find_hole_states`, for arrays.

        `keys` of any shape; returns the same shape.
        """
        sets = np.zeros(keys.shape, dtype=np.uint64)
        for place, hole in enumerate(self.layout.holes):
            is_open, is_shaded = self._find_hole(hole, keys)
            sets |= is_open.astype(np.uint64) << np.uint64(place)
            sets |= is_shaded.astype(np.uint64) << np.uint64(place + KEY_BITS)
        return sets

    def _find_hole(self, hole: Hole, keys: Bits) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        closed = self._any_moving(hole.closed_by, keys)
        opened = self._any_moving(hole.opened_by, keys)
        if hole.finger_key_id is None:
            return ~closed & (opened | hole.stands_open), np.zeros(keys.shape, dtype=bool)
        bit = self.layout.index(hole.finger_key_id)
        is_up = ~_has(keys, bit) & ~_has(keys, bit + KEY_BITS)
        return ~closed & (opened | is_up), ~closed & ~opened & _has(keys, bit + KEY_BITS)

    def _any_moving(self, movers: Iterable[Mover], keys: Bits) -> NDArray[np.bool_]:
        moving = np.zeros(keys.shape, dtype=bool)
        for mover in movers:
            moving |= self._all_hold((mover.key_id, *mover.while_down), mover.while_up, keys)
        return moving

    def _all_hold(
        self, while_down: Iterable[str], while_up: Iterable[str], keys: Bits
    ) -> NDArray[np.bool_]:
        held = np.ones(keys.shape, dtype=bool)
        for key_id in while_down:
            held &= self._is_pressed(key_id, keys)
        for key_id in while_up:
            held &= ~self._is_pressed(key_id, keys)
        return held

    def _is_pressed(self, key_id: str, keys: Bits) -> NDArray[np.bool_]:
        place = self.layout.index(key_id)
        return _has(keys, place) | _has(keys, place + KEY_BITS)

    @cached_property
    def _key_sets_by_digit(self) -> dict[Digit, tuple[int, ...]]:
        """For each digit the sets of keys, as bits of keys down, that it can hold at once."""
        digits = dict.fromkeys(
            digit for key in self.layout.keys for digit in self.layout.reach(key)
        )
        return {digit: tuple(self._holds(digit)) for digit in digits}

    def _holds(self, digit: Digit) -> Iterator[int]:
        reach = [key for key in self.layout.keys if digit in self.layout.reach(key)]
        yield 0
        for count in range(1, len(reach) + 1):
            held = [keys for keys in combinations(reach, count) if self._lie_together(keys)]
            if not held:
                return
            yield from (sum(1 << self.layout.index(key.id) for key in keys) for keys in held)

    def _lie_together(self, keys: Sequence[Key]) -> bool:
        return all(self.layout.is_pair(first, second) for first, second in combinations(keys, 2))

    def find_within(self, keys: int, max_changes: int) -> Bits:
        """List the playable key sets that differ from one in at most so many keys.

        A key that goes up or down, or a plate that is vented or no longer is, counts as one change;
        nothing is shaded or unshaded. Key sets are listed in rising order, the given one included
        if it is playable.
        """
        around = np.array([keys], dtype=np.uint64)
        singles = np.uint64(1) << np.arange(self._key_count, dtype=np.uint64)
        for _ in range(max_changes):
            steps = [around, (around[:, np.newaxis] ^ singles).ravel(), *self._vent(around)]
            around = np.unique(np.concatenate(steps))
        is_half_hole_held = around & (around >> np.uint64(KEY_BITS)) & _LOW != 0
        return np.asarray(around[~is_half_hole_held & self.is_playable(around)])

    def _vent(self, keys: Bits) -> Iterator[Bits]:
        """Put each plate that can be vented into each of its three states."""
        for place in self._vented_places:
            down, vented = np.uint64(1 << place), np.uint64(1 << place + KEY_BITS)
            other = keys & ~(down | vented)
            yield from (other, other | down, other | vented)

    @cached_property
    def _vented_places(self) -> tuple[int, ...]:
        keys = enumerate(self.layout.keys)
        return tuple(place for place, key in keys if State.VENTED in key.states)

    @cached_property
    def half_hole_bits(self) -> np.uint64:
        """The bits of a hole set that stand for half-holes, not for vented plates."""
        places = [
            place
            for place, hole in enumerate(self.layout.holes)
            if hole.finger_key_id is not None
            and State.SHADED in self.layout.key(hole.finger_key_id).states
        ]
        return np.uint64(sum(1 << place + KEY_BITS for place in places))

    def is_playable(self, keys: Bits) -> NDArray[np.bool_]:
        """Tell for each key set whether two hands can hold it; as `find_conflicts` does.

        `keys` of any shape; returns the same shape.
        """
        pressed = (keys | (keys >> np.uint64(KEY_BITS))) & _LOW
        playable = np.ones(keys.shape, dtype=bool)
        for reach, held in self._held_by_groups:
            playable &= np.isin(pressed & np.uint64(reach), held)
        return playable

    def has_half_hole(self, keys: Bits) -> NDArray[np.bool_]:
        """Tell for each key set whether it needs a half-hole; as `KeyStates.has_half_hole` does.

        Args:
            keys: key sets, shape (n,).

        Returns:
            shape (n,).
        """
        found = np.zeros(keys.shape, dtype=bool)
        for place, key in enumerate(self.layout.keys):
            if State.SHADED not in key.states:
                continue
            is_rolled = np.zeros(keys.shape, dtype=bool)
            for condition in key.rolled:
                is_rolled |= self._all_hold(condition.while_down, condition.while_up, keys)
            found |= _has(keys, place + KEY_BITS) & ~is_rolled
        return found

    @cached_property
    def _held_by_groups(self) -> tuple[tuple[int, Bits], ...]:
        """For fingers that share keys, joined: all keys in reach, and what they can hold.

        Keys that no finger reaches are a group of their own, of which nothing is held.
        """
        keys = enumerate(self.layout.keys)
        beyond = sum(1 << place for place, key in keys if not self.layout.reach(key))
        groups = [(beyond, np.zeros(1, dtype=np.uint64))] if beyond else []
        for options in self._key_sets_by_digit.values():
            held = np.array(options, dtype=np.uint64)
            reach = int(np.bitwise_or.reduce(held))
            for group in [group for group in groups if group[0] & reach]:
                groups.remove(group)
                reach |= group[0]
                held = np.unique((held[:, np.newaxis] | group[1]).ravel())
            groups.append((reach, held))
        return tuple(groups)


def decode_holes(holes: Bits, count: int) -> States:
    """Read hole sets, shape (n,), as codes of `HOLE_STATES`, shape (n, count)."""
    places = np.arange(count, dtype=np.uint64)
    is_open = (holes[:, np.newaxis] >> places) & np.uint64(1)
    is_shaded = (holes[:, np.newaxis] >> (places + np.uint64(KEY_BITS))) & np.uint64(1)
    return np.where(is_shaded == 1, SHADED, np.where(is_open == 1, OPEN, CLOSED)).astype(np.int8)


def encode_holes(states: States) -> Bits:
    """Write codes of `HOLE_STATES`, shape (n, holes), as hole sets, shape (n,)."""
    places = np.arange(states.shape[1], dtype=np.uint64)
    is_open = (states == OPEN).astype(np.uint64) << places
    is_shaded = (states == SHADED).astype(np.uint64) << (places + np.uint64(KEY_BITS))
    return np.asarray((is_open | is_shaded).sum(axis=1, dtype=np.uint64))


def arrange_holes(holes: Bits, order: Sequence[int]) -> Bits:
    """Write hole sets, of any shape, anew with their holes in another order."""
    made = np.zeros_like(holes)
    for place, hole in enumerate(order):
        for half in (0, KEY_BITS):
            bit = (holes >> np.uint64(hole + half)) & np.uint64(1)
            made |= bit << np.uint64(place + half)
    return made


def mask_holes(holes: Bits, first: int, end: int) -> Bits:
    """Keep only the holes from `first` to before `end` of hole sets of any shape."""
    bits = (1 << end) - (1 << first)
    return np.asarray(holes & np.uint64(bits | bits << KEY_BITS))


def _state(keys: int, place: int, key: Key) -> State:
    if keys >> (place + KEY_BITS) & 1:
        return key.partial or State.SHADED
    return State.DOWN if keys >> place & 1 else State.UP


def _has(keys: Bits, bit: int) -> NDArray[np.bool_]:
    return np.asarray((keys >> np.uint64(bit)) & np.uint64(1) == 1)
