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
from math import isnan
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import Linkage
from analysis.finder.tube import Tube
from analysis.keywork import DifferentLayouts, KeyStates, Layout
from analysis.planning.pair_motions import PairTable, StatesBetween

Bits = NDArray[np.uint64]
Real = NDArray[np.float64]
Whole = NDArray[np.int64]
Resonances = Callable[[Bits], Real]

# What a transition costs more if all of its states in between are unsafe: as much as a jump.
UNSAFE = 2.0
# A quarter tone outside the interval is heard as another note; less is part of a slur.
_BLIP_CENTS = 50.0
_PAIRS_KEPT = 100_000
_BATCH = 10_000


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
        return known or self.prepare([(first, second)])[0]

    def prepare(self, pairs: Iterable[tuple[Played, Played]]) -> list[Transition]:
        """Work out many transitions at once, which takes less than one after the other.

        Returns those that were not known before, in order.
        """
        fresh = [pair for pair in dict.fromkeys(pairs) if pair not in self._known]
        if len(self._known) + len(fresh) > _PAIRS_KEPT:
            self._known = {}
        found = []
        for start in range(0, len(fresh), _BATCH):
            found += self._work_out(fresh[start : start + _BATCH])
        self._known.update(zip(fresh, found, strict=True))
        return found

    def _work_out(self, pairs: Sequence[tuple[Played, Played]]) -> list[Transition]:
        for first, second in pairs:
            if not first.fingering.layout == second.fingering.layout == self.layout:
                raise DifferentLayouts(first.fingering.layout.name, second.fingering.layout.name)
        every = list(dict.fromkeys(played.fingering for pair in pairs for played in pair))
        place_of = {fingering: place for place, fingering in enumerate(every)}
        ends = np.array([[place_of[played.fingering] for played in pair] for pair in pairs])
        table = PairTable(self.layout, every)
        motions, between = table.find_motions(ends[:, 0], ends[:, 1])
        shares, worst = np.zeros(len(pairs)), np.full(len(pairs), np.nan)
        if self.find_cents is not None and len(between.keys):
            notes = np.array([[played.written_cents for played in pair] for pair in pairs])
            shares, worst = self._judge(table.keys, ends, notes, between)
        columns = (motions.finger_counts, motions.costs, shares, worst, motions.is_plain)
        return [
            Transition(count, motion, share, None if isnan(cents) else cents, is_plain)
            for count, motion, share, cents, is_plain in zip(
                *(column.tolist() for column in columns), strict=True
            )
        ]

    def _judge(
        self, keys: Bits, ends: Whole, notes: Real, between: StatesBetween
    ) -> tuple[Real, Real]:
        """Find for each pair what share of the states in between is unsafe, and the worst.

        Args:
            keys: key sets of the fingerings, shape (f,).
            ends: places of the two fingerings of each pair, shape (n, 2).
            notes: their written cents, shape (n, 2).
            between: the states in between.
        """
        assert self.find_cents is not None
        holes = Linkage(self.layout).find_holes(np.concatenate([keys, between.keys]))
        different, places = np.unique(holes, return_inverse=True)
        cents = (self.find_cents(different) - self.treble_shift_cents)[places]
        own, others = cents[: len(keys)][ends], cents[len(keys) :]
        apart = np.abs(own - notes[..., np.newaxis])
        numbers = np.argmin(np.where(np.isnan(apart), np.inf, apart), axis=2)
        # where the tube puts the notes themselves, so that what it gets wrong there cancels
        found = np.take_along_axis(own, numbers[..., np.newaxis], axis=2)[..., 0]
        notes = np.where(np.isnan(found), notes, found)
        heard = np.arange(cents.shape[1])
        lowest, highest = numbers.min(axis=1), numbers.max(axis=1)
        is_between = (heard >= lowest[:, np.newaxis]) & (heard <= highest[:, np.newaxis])
        sounding = np.where(is_between[between.pairs], others, np.nan)
        return find_blips(sounding, notes[between.pairs], between.pairs, len(ends))


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


def find_blips(cents: Real, notes: Real, pairs: Whole, count: int) -> tuple[Real, Real]:
    """Judge what sounds between two notes, for many pairs of notes at once.

    A state without any resonance breaks the note off, which is unsafe too.

    Args:
        cents: written cents of the resonances of m states, shape (m, resonances), not-a-number
            for none.
        notes: where the two notes of its pair sound, written cents, shape (m, 2).
        pairs: the place of its pair, shape (m,), rising.
        count: how many pairs there are.

    Returns:
        For each pair the share of its states that is unsafe, 0 to 1, and where the worst of them
        sounds, written cents, not-a-number where none does; both of shape (count,).
    """
    lower, upper = notes.min(axis=1, keepdims=True), notes.max(axis=1, keepdims=True)
    outside = np.maximum(np.maximum(lower - cents, cents - upper), 0.0)
    outside = np.where(np.isnan(outside), np.inf, outside)
    heard = np.argmin(outside, axis=1)[:, np.newaxis]
    outside = np.take_along_axis(outside, heard, axis=1)[:, 0]
    is_unsafe = outside > _BLIP_CENTS
    states = np.bincount(pairs, minlength=count)
    shares = np.bincount(pairs, is_unsafe, minlength=count) / np.maximum(states, 1)
    worst = np.full(count, np.nan)
    audible = np.flatnonzero(is_unsafe & np.isfinite(outside))
    # of each pair the furthest outside, of several the first
    ranked = audible[np.lexsort((audible, -outside[audible], pairs[audible]))]
    there, first = np.unique(pairs[ranked], return_index=True)
    worst[there] = np.take_along_axis(cents, heard, axis=1)[ranked[first], 0]
    return shares, worst
