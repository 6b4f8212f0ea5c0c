"""Transitions by the rule for one pair at a time, state by state, for tests of the arrays."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from analysis.acoustics.linkage import KEY_BITS, Linkage
from analysis.keywork import Layout, SlideKind, describe_motion
from analysis.planning import Played, Transition
from analysis.planning.motion_cost import Resonances

BLIP_CENTS = 50.0
MOST_ORDERED = 5


def find_scalar(
    layout: Layout, first: Played, second: Played, find_cents: Resonances
) -> Transition:
    """Find the transition between two played notes, state by state."""
    motion = describe_motion(first.fingering, second.fingering)
    is_plain = len(motion.moves) == 1 and not motion.moves[0].kept and not motion.slides
    linkage = Linkage(layout)
    before, after = linkage.encode(first.fingering), linkage.encode(second.fingering)
    masks = []
    for move in motion.moves:
        places = {layout.index(key.id) for key in (*move.left, *move.taken, *move.kept)}
        masks.append({*places, *(place + KEY_BITS for place in places)})
    some = range(1, len(masks)) if len(masks) <= MOST_ORDERED else (1, len(masks) - 1)
    between = set()
    for count in some:
        for chosen in combinations(masks, count):
            arrived = sum(1 << place for place in set().union(*chosen))
            between.add((before & ~arrived) | (after & arrived))
    if len(masks) == 1 and any(slide.kind is not SlideKind.SLIDE for slide in motion.slides):
        between.add(before & after)
    states = sorted(between - {before, after})
    if not states:
        return Transition(len(masks), motion.cost, 0.0, None, is_plain)
    ends = [
        _place(linkage, keys, played.written_cents, find_cents)
        for keys, played in ((before, first), (after, second))
    ]
    lower, upper = sorted(cents for _, cents in ends)
    numbers = sorted(number for number, _ in ends)
    unsafe, worst, furthest = 0, None, 0.0
    for keys in states:
        every = _find(linkage, keys, find_cents)[numbers[0] : numbers[1] + 1]
        heard = [cents for cents in every if not math.isnan(cents)]
        outside = [max(lower - cents, cents - upper, 0.0) for cents in heard]
        least = min(outside, default=math.inf)
        unsafe += least > BLIP_CENTS
        if BLIP_CENTS < least < math.inf and least > furthest:
            worst, furthest = heard[outside.index(least)], least
    return Transition(len(masks), motion.cost, unsafe / len(states), worst, is_plain)


def _find(linkage: Linkage, keys: int, find_cents: Resonances) -> list[float]:
    holes = linkage.find_holes(np.array([keys], dtype=np.uint64))
    return [float(cents) for cents in find_cents(holes)[0]]


def _place(
    linkage: Linkage, keys: int, written_cents: float, find_cents: Resonances
) -> tuple[int, float]:
    """Find which resonance a note is, and where the tube puts it."""
    every = _find(linkage, keys, find_cents)
    there = [number for number, cents in enumerate(every) if not math.isnan(cents)]
    if not there:
        return 0, written_cents
    number = min(there, key=lambda each: abs(every[each] - written_cents))
    return number, every[number]
