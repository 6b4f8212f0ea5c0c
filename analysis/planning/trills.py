"""Trills and tremolos: pairs of fingerings by both pitches, the motion both ways, one finger first.

A trill repeats one motion many times a second, so what counts is how few fingers do it and whether
any has to slide or jump; a blip in between is heard each time. So pairs are not only joined from
what is known for each note: one key more or less on a fingering for the one note often gives the
other, as trill keys do. Weights are judgement.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from analysis.finder.inputs import Start, Wishes
from analysis.finder.player_model import PlayerModel
from analysis.finder.results import WORTH_LIPPING
from analysis.finder.suggesting import suggest
from analysis.keywork import hole_signature
from analysis.pitch import WrittenPitch
from analysis.planning.errors import NoTrill
from analysis.planning.motion_cost import MotionTable, Played, Transition, motion_table_of
from analysis.planning.passage_costs import TRILL_TOLERANCE_CENTS, Backing
from analysis.planning.playable import (
    Playable,
    find_likeliest,
    join_playable,
    list_ordinary,
    predict_playable,
)

# What a pair that is surely out of tune costs more: as much as two jumps there and back.
_OUT_OF_TUNE = 8.0
# A trill key less likely than this is not worth listing.
_LEAST_BESIDE = 0.25
_SUGGESTED = 3
# Further apart no two notes are joined by a trill or a tremolo that a part asks for.
_WIDEST_CENTS = 1200
_MOST_KNOWN = 8


@dataclass(frozen=True, slots=True)
class PairCost:
    """Cost of going back and forth between two played notes."""

    there: Transition
    back: Transition

    @property
    def finger_count(self) -> int:
        """How many fingers do it."""
        return self.there.finger_count

    @property
    def is_one_finger(self) -> bool:
        """Whether one finger alone goes down and up, holds nothing else, and shades nothing."""
        is_plain = self.there.is_plain and self.back.is_plain
        return is_plain and self.there.motion == self.back.motion == 1.0

    @property
    def cost(self) -> float:
        """The cost of the way there and of the way back."""
        return self.there.cost + self.back.cost

    @property
    def order(self) -> tuple[bool, float]:
        """Sort key of pairs, lowest first: one finger before several, then cost."""
        return (not self.is_one_finger, self.cost)


def find_pair_cost(table: MotionTable, lower: Played, upper: Played) -> PairCost:
    """Find what a trill or tremolo between two played notes costs."""
    table.prepare([(lower, upper), (upper, lower)])
    return PairCost(table.find(lower, upper), table.find(upper, lower))


@dataclass(frozen=True, slots=True)
class RankedPair:
    """Two fingerings to go back and forth between, and what that costs."""

    lower: Playable
    upper: Playable
    cost: PairCost

    @property
    def chance(self) -> float:
        """How likely both notes are in tune, 0 to 1."""
        return self.lower.chance * self.upper.chance

    @property
    def is_predicted(self) -> bool:
        """Whether one of the two is predicted, neither measured nor ordinary."""
        return Backing.PREDICTED in (self.lower.backing, self.upper.backing)

    @property
    def order(self) -> tuple[bool, float]:
        """Sort key of ranked pairs, lowest first: one finger that is likely in tune, then cost."""
        several, cost = self.cost.order
        return (several or self.chance < WORTH_LIPPING, cost + _OUT_OF_TUNE * (1.0 - self.chance))


def rank_pairs(
    table: MotionTable,
    lower: WrittenPitch,
    upper: WrittenPitch,
    pairs: Sequence[tuple[Playable, Playable]],
) -> tuple[RankedPair, ...]:
    """Rank pairs for a trill or tremolo, the best first; of pairs that sound alike the first.

    `pairs` hold a fingering for the lower and one for the upper note, in the table's layout.
    """
    low, high = float(lower.cents), float(upper.cents)
    ends = [(Played(a.fingering, low), Played(b.fingering, high)) for a, b in pairs]
    table.prepare([way for one, other in ends for way in ((one, other), (other, one))])
    ranked = [
        RankedPair(a, b, find_pair_cost(table, *end))
        for (a, b), end in zip(pairs, ends, strict=True)
        if a.fingering != b.fingering
    ]
    ranked.sort(key=lambda pair: pair.order)
    if not table.layout.holes:
        return tuple(ranked)  # nothing is known of what sounds alike
    kept: dict[tuple[str, str], RankedPair] = {}
    for pair in ranked:
        sound = hole_signature(pair.lower.fingering), hole_signature(pair.upper.fingering)
        if sound[0] != sound[1]:
            kept.setdefault(sound, pair)
    return tuple(kept.values())


def find_trills(
    lower: WrittenPitch,
    upper: WrittenPitch,
    *,
    model: PlayerModel,
    known_lower: Sequence[Playable] = (),
    known_upper: Sequence[Playable] = (),
    starts: Sequence[Start] = (),
    tolerance_cents: float = 10.0,
    count: int = 8,
) -> tuple[RankedPair, ...]:
    """Find fingerings for a trill or tremolo between two notes.

    Known fingerings, ordinary ones, for a note without either the best suggestions, and whatever
    lies one key from any of these and sounds near the other note.

    Args:
        lower: written pitch in the notation of the model's kind.
        upper: the other note, above it.
        model: the player's model.
        known_lower: what the player has for the lower note, the best first.
        known_upper: what the player has for the upper note, judged by `TRILL_TOLERANCE_CENTS`.
        starts: fingerings that work, as for `suggest`.
        tolerance_cents: of the lower note.
        count: how many at most.

    Returns:
        The pairs, the best first; a known fingering is joined with whatever is known or likely.

    Raises:
        NoTrill: both notes are the same, or they lie more than an octave apart.

    >>> from analysis.keywork import load_layout
    >>> soprano = load_layout("soprano-17-6")
    >>> model = PlayerModel.fit("b-flat-soprano", soprano, [], is_screened=False)
    >>> f5, f_sharp_5 = (WrittenPitch.from_canonical(note) for note in ("F5", "F#5"))
    >>> best = find_trills(f5, f_sharp_5, model=model)[0]
    >>> best.cost.is_one_finger, best.cost.cost
    (True, 2.0)
    """
    check_interval(lower, upper)
    upper_cents = max(tolerance_cents, TRILL_TOLERANCE_CENTS)
    lows = _gather(model, lower, known_lower, starts, tolerance_cents)
    highs = _gather(model, upper, known_upper, starts, upper_cents)
    pairs = [
        *product(lows, highs),
        *((low, near) for low in lows for near in _list_beside(model, low, upper, upper_cents)),
        *(
            (near, high)
            for high in highs
            for near in _list_beside(model, high, lower, tolerance_cents)
        ),
    ]
    unique = {(low.fingering, high.fingering): (low, high) for low, high in reversed(pairs)}
    return rank_pairs(motion_table_of(model.tube), lower, upper, list(unique.values()))[:count]


def check_interval(lower: WrittenPitch, upper: WrittenPitch) -> None:
    """Raise `NoTrill` where two notes are the same or lie more than an octave apart."""
    if lower.cents == upper.cents:
        raise NoTrill("Both notes are the same. Say the other note of the trill.")
    if upper.cents - lower.cents > _WIDEST_CENTS:
        raise NoTrill("The two notes lie more than an octave apart.")


def _gather(
    model: PlayerModel,
    written: WrittenPitch,
    known: Sequence[Playable],
    starts: Sequence[Start],
    tolerance_cents: float,
) -> tuple[Playable, ...]:
    """Gather what can be played for a note; suggestions only where nothing else is likely."""
    ordinary = list_ordinary(model, written, tolerance_cents=tolerance_cents)
    found = join_playable(known[:_MOST_KNOWN], ordinary)
    if find_likeliest(found) >= WORTH_LIPPING:
        return found
    wishes = Wishes(tolerance_cents=tolerance_cents)
    suggested = suggest(written, model=model, starts=starts, wishes=wishes, count=_SUGGESTED)
    return join_playable(
        found,
        (
            Playable(
                one.fingering, one.offset_cents, one.sigma_cents, one.chance, Backing.PREDICTED
            )
            for one in suggested.items
            if one.is_within_reach
        ),
    )


def _list_beside(
    model: PlayerModel, known: Playable, written: WrittenPitch, tolerance_cents: float
) -> Iterator[Playable]:
    """List what lies one key from a fingering and is likely enough for the other note."""
    linkage = model.tube.linkage
    around = linkage.find_within(linkage.encode(known.fingering), 1)
    spots = model.tube.find_nearest(
        linkage.find_holes(around), np.full(len(around), model.find_treble_cents(written))
    )
    near = np.abs(model.guess(spots) - model.find_treble_cents(written)) <= 3.0 * tolerance_cents
    for each in predict_playable(model, written, around[near], tolerance_cents=tolerance_cents):
        if each.chance >= _LEAST_BESIDE:
            yield each
