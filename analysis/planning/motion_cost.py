"""Kinetics of note transitions: what moving from one fingering to another costs, at any tempo.

Two parts, both judgement and not measured:

- what the hands do, from the cost model of `analysis.keywork.motion`;
- a surcharge for an *unsafe* transition. Fingers never move at one instant: they arrive tens of
  milliseconds apart, the more of them the further (measured on the flute: Almeida, Chow, Smith &
  Wolfe, J. Acoust. Soc. Am. 126, 2009). In between some have moved and others have not. The tube
  says where each such state sounds; where that lies outside the interval, a third note is heard as
  a blip. A transition whose states in between all sound between its two notes is safe.

Which resonance sounds in between is not known; of those from the first note's to the second's the
one that spoils least counts. Without a half-hole or a thumb that carries the cost is the same in
both directions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import Linkage
from analysis.acoustics.linkage import KEY_BITS
from analysis.finder.tube import Tube
from analysis.keywork import (
    FingerMove,
    KeyStates,
    Layout,
    SlideKind,
    describe_motion,
)

Bits = NDArray[np.uint64]
Real = NDArray[np.float64]
Resonances = Callable[[Bits], Real]

# What a transition costs more if all of its states in between are unsafe: as much as a jump.
UNSAFE = 2.0
# A quarter tone outside the interval is heard as another note; less is part of a slur.
_BLIP_CENTS = 50.0
# Of up to so many fingers every order of arrival counts; of more, the first and the last to move.
_MOST_ORDERED = 5
_PAIRS_KEPT = 100_000


class Played(NamedTuple):
    """A fingering and the note that it plays, in written cents of the instrument's notation."""

    fingering: KeyStates
    written_cents: float


@dataclass(frozen=True, slots=True)
class Transition:
    """Cost of the way from one played note to another.

    Attributes:
        finger_count: how many fingers do something.
        motion: what the hands do, as `FingerMotion.cost`.
        unsafe_share: of the states in between, how many sound outside the interval, 0 to 1.
        blip_cents: where the worst of them sounds, written cents; None where none does.
        is_plain: whether one finger alone goes down or up and holds nothing else meanwhile.
    """

    finger_count: int
    motion: float
    unsafe_share: float
    blip_cents: float | None
    is_plain: bool = False

    @property
    def cost(self) -> float:
        """The motion and the surcharge for what is heard in between."""
        return self.motion + UNSAFE * self.unsafe_share


class _Way(NamedTuple):
    """A transition whose states in between are still to be looked up."""

    finger_count: int
    motion: float
    between: Bits  # key sets
    is_plain: bool


class _Blips(NamedTuple):
    """Share of the states in between that is unsafe, and where the worst sounds."""

    unsafe_share: float
    worst_cents: float | None


@dataclass
class MotionTable:
    """Transitions on one layout, each worked out once.

    `find_cents` gives the resonances of hole sets (n,) as written cents in treble notation (n, 5),
    not-a-number for none; None where nothing is known of the tube, and no surcharge is made.
    `treble_shift_cents` is what to add to written cents to get treble notation.
    """

    layout: Layout
    find_cents: Resonances | None = None
    treble_shift_cents: float = 0.0
    _known: dict[tuple[Played, Played], Transition] = field(default_factory=dict)

    @cached_property
    def _linkage(self) -> Linkage:
        return Linkage(self.layout)

    @classmethod
    def of_tube(cls, tube: Tube) -> Self:
        """Make the table of a tube."""
        return cls(tube.layout, tube.find_cents, float(tube.treble_shift_cents))

    def find(self, first: Played, second: Played) -> Transition:
        """Find what the way from one played note to another costs; a look-up the second time.

        Raises `DifferentLayouts` if the two do not belong to one layout.

        >>> from analysis.keywork import load_layout, parse_fingering
        >>> soprano = load_layout("soprano-17-6")
        >>> f5 = Played(parse_fingering("T R 123 | 1--", soprano), 7700.0)
        >>> fork = Played(parse_fingering("T R 123 | -2-", soprano), 7800.0)
        >>> MotionTable(soprano).find(f5, fork).cost
        2.5
        """
        known = self._known.get((first, second))
        if known is None:
            self.prepare([(first, second)])
            known = self._known[first, second]
        return known

    def prepare(self, pairs: Iterable[tuple[Played, Played]]) -> None:
        """Work out many transitions at once, which takes less than one after the other."""
        fresh = [pair for pair in dict.fromkeys(pairs) if pair not in self._known]
        if len(self._known) + len(fresh) > _PAIRS_KEPT:
            self._known.clear()
        ways = [self._find_way(first.fingering, second.fingering) for first, second in fresh]
        blips = self._find_blips(fresh, ways)
        for pair, way, blip in zip(fresh, ways, blips, strict=True):
            self._known[pair] = Transition(
                way.finger_count, way.motion, blip.unsafe_share, blip.worst_cents, way.is_plain
            )

    def _find_way(self, first: KeyStates, second: KeyStates) -> _Way:
        motion = describe_motion(first, second)
        moves = motion.moves
        is_plain = len(moves) == 1 and not moves[0].kept and not motion.slides
        if self.find_cents is None:
            return _Way(len(moves), motion.cost, np.zeros(0, dtype=np.uint64), is_plain)
        before, after = self._linkage.encode(first), self._linkage.encode(second)
        masks = [self._cover(move) for move in moves]
        arrived = {
            sum(some) for count in _list_counts(masks) for some in combinations(masks, count)
        }
        between = {(before & ~mask) | (after & mask) for mask in arrived}
        if len(masks) == 1 and any(slide.kind is not SlideKind.SLIDE for slide in motion.slides):
            between.add(before & after)
        kept = np.array(sorted(between - {before, after}), dtype=np.uint64)
        return _Way(len(masks), motion.cost, kept, is_plain)

    def _cover(self, move: FingerMove) -> int:
        """Name the bits of a key set that one finger's move changes."""
        places = {self.layout.index(key.id) for key in (*move.left, *move.taken, *move.kept)}
        return sum((1 << place) | (1 << place + KEY_BITS) for place in places)

    def _find_blips(
        self, pairs: Sequence[tuple[Played, Played]], ways: Sequence[_Way]
    ) -> list[_Blips]:
        """Find for each pair what share of the states in between is unsafe, and the worst."""
        counts = np.array([len(way.between) for way in ways], dtype=np.int64)
        blips = [_Blips(0.0, None)] * len(pairs)
        if self.find_cents is None or not counts.any():
            return blips
        between = np.concatenate([way.between for way in ways])
        ends = np.array(
            [self._linkage.encode(played.fingering) for pair in pairs for played in pair],
            dtype=np.uint64,
        )
        holes = self._linkage.find_holes(np.concatenate([ends, between]))
        different, places = np.unique(holes, return_inverse=True)
        cents = self.find_cents(different)[places] - self.treble_shift_cents
        notes = np.array([played.written_cents for pair in pairs for played in pair])
        apart = np.abs(cents[: len(ends)] - notes[:, np.newaxis])
        numbers = np.argmin(np.where(np.isnan(apart), np.inf, apart), axis=1)
        # where the tube puts the notes themselves, so that what it gets wrong there cancels
        found = cents[np.arange(len(ends)), numbers]
        notes = np.where(np.isnan(found), notes, found).reshape(-1, 2)
        numbers = numbers.reshape(-1, 2)
        first = len(ends)
        for place in np.flatnonzero(counts):
            some = cents[first : first + counts[place]]
            first += counts[place]
            sounding = some[:, numbers[place].min() : numbers[place].max() + 1]
            blips[place] = _judge(sounding, notes[place].min(), notes[place].max())
        return blips


def motion_table_of(tube: Tube) -> MotionTable:
    """Return the table of a tube, made once and kept with it."""
    made = tube.cache.recall(f"motion-{tube.serial}", lambda: MotionTable.of_tube(tube))
    assert isinstance(made, MotionTable)
    return made


def find_neighbour_costs(
    table: MotionTable,
    written_cents: float,
    fingerings: Sequence[KeyStates],
    *,
    before: Sequence[Played] = (),
    after: Sequence[Played] = (),
) -> Real:
    """Find what fingerings for a note cost to be reached and to be left, shape (n,).

    `before` and `after` hold the choices for the neighbouring notes: of each the cheapest counts.
    """
    here = [Played(fingering, written_cents) for fingering in fingerings]
    ways = [[(one, each) for one in before] for each in here]
    ways_on = [[(each, one) for one in after] for each in here]
    table.prepare(way for some in (*ways, *ways_on) for way in some)
    costs = [
        sum(min(table.find(*way).cost for way in some) for some in (to_here, from_here) if some)
        for to_here, from_here in zip(ways, ways_on, strict=True)
    ]
    return np.array(costs, dtype=np.float64)


def _list_counts(moves: Sequence[int]) -> Iterable[int]:
    """List how many fingers may have moved while others have not."""
    if len(moves) <= _MOST_ORDERED:
        return range(1, len(moves))
    return (1, len(moves) - 1)


def _judge(cents: Real, lower_cents: float, upper_cents: float) -> _Blips:
    """Judge what sounds between two notes; `cents` of shape (states, resonances), written.

    A state without any of these resonances breaks the note off, which is unsafe too.
    """
    outside = np.maximum(np.maximum(lower_cents - cents, cents - upper_cents), 0.0)
    outside = np.where(np.isnan(outside), np.inf, outside)
    heard = np.argmin(outside, axis=1)
    rows = np.arange(len(cents))
    outside = outside[rows, heard]
    is_unsafe = outside > _BLIP_CENTS
    sounding = np.flatnonzero(is_unsafe & np.isfinite(outside))
    if not len(sounding):
        return _Blips(float(is_unsafe.mean()), None)
    worst = int(sounding[np.argmax(outside[sounding])])
    return _Blips(float(is_unsafe.mean()), float(cents[worst, heard[worst]]))
