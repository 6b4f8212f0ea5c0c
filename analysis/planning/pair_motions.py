"""Motion of many pairs of fingerings at once, by a table for each finger.

The rules are those of `analysis.keywork.motion`, asked once for each two holds of a finger; sums
and states in between are arrays. Key sets are those of `analysis.acoustics.linkage`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.linkage import KEY_BITS, Linkage
from analysis.keywork import Digit, KeyStates, Layout, SlideKind, State
from analysis.keywork.motion import (
    COSTS,
    Hold,
    find_holds,
    find_motion_cost,
    find_move,
    find_slide,
)

Bits = NDArray[np.uint64]
Real = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

# Of up to so many fingers every order of arrival counts; of more, the first and the last to move.
_MOST_ORDERED = 5
_CHANGES_KEPT = 50_000
_NOTHING: Hold = ()


@dataclass(frozen=True, slots=True)
class PairMotions:
    """What the hands do on the way from fingerings to others, n pairs.

    Attributes:
        finger_counts: how many fingers do something, shape (n,).
        costs: as `FingerMotion.cost`, shape (n,).
        is_plain: whether one finger alone goes down or up and holds nothing else, shape (n,).
    """

    finger_counts: Whole
    costs: Real
    is_plain: Flags


@dataclass(frozen=True, slots=True)
class StatesBetween:
    """States in which some fingers have moved and others have not, each once.

    Attributes:
        keys: key sets, shape (m,), of the first pair first, rising within a pair.
        pairs: the place of the pair of each, shape (m,), rising.
    """

    keys: Bits
    pairs: Whole


class _Change(NamedTuple):
    """What one finger does: numbers for the sums, and the bits of a key set that it changes."""

    moves: bool = False
    slide_cost: float = 0.0
    lifts: bool = False
    presses: bool = False
    keeps: bool = False
    slides: bool = False
    jumps: bool = False
    bits: int = 0


class PairTable:
    """Fingerings of one layout as arrays, and the motion between any two of them."""

    def __init__(self, layout: Layout, fingerings: Sequence[KeyStates]) -> None:
        """Write fingerings, each of `layout`, as key sets and as holds of fingers."""
        self._layout = layout
        linkage = Linkage(layout)
        holds = [find_holds(each) for each in fingerings]
        self._digits = tuple(dict.fromkeys(digit for each in holds for digit in each))
        self._holds: dict[Hold, int] = {_NOTHING: 0}
        self._numbers = np.array(
            [[self._number(each.get(digit, _NOTHING)) for digit in self._digits] for each in holds],
            dtype=np.int64,
        ).reshape(len(fingerings), len(self._digits))
        self.keys = np.array([linkage.encode(each) for each in fingerings], dtype=np.uint64)
        self._shaded = np.array([_find_shaded(each) for each in fingerings], dtype=np.uint64)

    def _number(self, hold: Hold) -> int:
        return self._holds.setdefault(hold, len(self._holds))

    def find_motions(self, first: Whole, second: Whole) -> tuple[PairMotions, StatesBetween]:
        """Find what the hands do from fingerings to others, and the states in between.

        `first` and `second` are places of the fingerings, shape (n,).
        """
        changes = self._find_changes(first, second)
        count = changes["moves"].sum(axis=1)
        shaded = np.bitwise_count(self._shaded[second] & ~self._shaded[first])
        contrary = np.minimum(changes["lifts"].sum(axis=1), changes["presses"].sum(axis=1))
        cost = find_motion_cost(
            count.astype(np.float64),
            changes["slide_cost"].sum(axis=1),
            contrary.astype(np.float64),
            shaded.astype(np.float64),
        )
        slides, keeps = np.any(changes["slides"], axis=1), np.any(changes["keeps"], axis=1)
        motions = PairMotions(count, cost, (count == 1) & ~keeps & ~slides)
        jumps = np.asarray(changes["jumps"].any(axis=1), dtype=np.bool_)
        between = _find_between(self.keys[first], self.keys[second], changes["bits"], jumps)
        return motions, between

    def _find_changes(self, first: Whole, second: Whole) -> NDArray[np.void]:
        """Find what each finger does, shape (n, fingers), with the fields of `_Change`."""
        holds = tuple(self._holds)
        types = [
            (name, np.uint64 if name == "bits" else type(value))
            for name, value in _Change._field_defaults.items()
        ]
        found = np.zeros((len(first), len(self._digits)), dtype=types)
        for column, digit in enumerate(self._digits):
            codes = self._numbers[first, column] * len(holds) + self._numbers[second, column]
            different, places = np.unique(codes, return_inverse=True)
            made = [
                _find_change(
                    self._layout, digit, holds[code // len(holds)], holds[code % len(holds)]
                )
                for code in different.tolist()
            ]
            found[:, column] = np.array(made, dtype=types)[places]
        return found


@lru_cache(maxsize=_CHANGES_KEPT)
def _find_change(layout: Layout, digit: Digit, before: Hold, after: Hold) -> _Change:
    move = find_move(digit, before, after)
    if move is None:
        return _Change()
    slide = find_slide(layout, move)
    places = {layout.index(key.id) for key in (*move.left, *move.taken, *move.kept)}
    return _Change(
        moves=True,
        slide_cost=0.0 if slide is None else COSTS[slide.kind],
        lifts=move.lifts,
        presses=move.presses,
        keeps=bool(move.kept),
        slides=slide is not None,
        jumps=slide is not None and slide.kind is not SlideKind.SLIDE,
        bits=sum((1 << place) | (1 << place + KEY_BITS) for place in places),
    )


def _find_shaded(fingering: KeyStates) -> int:
    """Write as bits which keys of a fingering are shaded."""
    return sum(1 << place for place, each in enumerate(fingering.states) if each is State.SHADED)


def _find_between(before: Bits, after: Bits, bits: Bits, jumps: Flags) -> StatesBetween:
    """Find the states in between of pairs of key sets.

    Args:
        before: key sets, shape (n,).
        after: key sets, shape (n,).
        bits: those that each finger changes, shape (n, fingers), 0 for a finger that does nothing.
        jumps: whether a finger leaves one key before it has the other, shape (n,).
    """
    counts = np.count_nonzero(bits, axis=1)
    moving = np.take_along_axis(bits, np.argsort(bits == 0, axis=1, kind="stable"), axis=1)
    keys, pairs = [np.zeros(0, dtype=np.uint64)], [np.zeros(0, dtype=np.int64)]
    for count in np.unique(counts).tolist():
        rows = np.flatnonzero(counts == count)
        if count == 1:
            rows = rows[jumps[rows]]
            states = (before[rows] & after[rows])[:, np.newaxis]
        else:
            orders = _list_orders(count)
            arrived = np.zeros((len(rows), len(orders)), dtype=np.uint64)
            for finger in range(count):
                arrived |= np.where(orders[:, finger], moving[rows, finger, np.newaxis], 0)
            states = (before[rows, np.newaxis] & ~arrived) | (after[rows, np.newaxis] & arrived)
        states.sort(axis=1)
        ends = np.stack([before[rows], after[rows]], axis=1)[:, np.newaxis]
        is_new = ~(states[..., np.newaxis] == ends).any(axis=2)
        is_new[:, 1:] &= states[:, 1:] != states[:, :-1]
        keys.append(states[is_new])
        pairs.append(np.repeat(rows, np.count_nonzero(is_new, axis=1)))
    joined = np.concatenate(pairs)
    order = np.argsort(joined, kind="stable")
    return StatesBetween(np.concatenate(keys)[order], joined[order])


def _list_orders(count: int) -> Flags:
    """List which of some fingers may have moved while others have not, shape (states, fingers)."""
    some = range(1, count) if count <= _MOST_ORDERED else (1, count - 1)
    chosen = [set(each) for arrived in some for each in combinations(range(count), arrived)]
    return np.array(
        [[finger in each for finger in range(count)] for each in chosen], dtype=np.bool_
    ).reshape(len(chosen), count)
