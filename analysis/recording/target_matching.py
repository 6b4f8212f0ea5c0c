"""Viterbi alignment of the notes of a recording with the targets they were played for.

A player goes through the targets in order, may repeat one, skip one, or go back. The proposal is
the way through them that costs least, found by dynamic programming (Viterbi's algorithm): the
distance of each note from its target in cents, plus a little for repeating, more for each one
skipped and most for going back. A note without a pitch, or a semitone and more from every target,
gets no proposal, with the reason named. The costs are ours: small against the 50
cents that targets lie apart here, so that order decides only between targets of nearly one pitch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.splitting import MeasuredSpan

Floats = NDArray[np.floating[Any]]

REACH_CENTS = 100.0
REPEAT_COST = 3.0
SKIP_COST = 1.0
MOST_SKIPPED_COST = 10.0
BACK_COST = 20.0


class NoProposal(StrEnum):
    """Why a note belongs to no target."""

    NO_PITCH = "no pitch"
    NO_TARGET_NEAR = "no target near"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed for one span: the place of its target in the list, or why there is none."""

    target_index: int | None
    distance_cents: float | None
    no_proposal: NoProposal | None = None


def propose_by_pitch(
    spans: Sequence[MeasuredSpan],
    targets_cents: Sequence[float],
    *,
    tuning_a_hz: float = 440.0,
) -> tuple[Proposal, ...]:
    """Propose a target for each span, by nearest pitch and in order.

    Parameters: `spans` in order of time; `targets_cents` sounding, A4 = 6900, in the order in which
    they were to be played; `tuning_a_hz` the A that the targets are meant at.

    Returns one `Proposal` a span, in the same order; `distance_cents` is positive for a note above
    its target. With `NoProposal.NO_TARGET_NEAR` it is the distance from the nearest, if any.

    Limits: one pitch says nothing about which of two fingerings made it; only order does, and
    notes of one pitch in another order than that of the list are proposed wrongly.

    Source: Viterbi (1967), from memory; the costs are our own.

    >>> propose_by_pitch([], [6900.0])
    ()
    """
    pitches = [_find_cents(span, tuning_a_hz) for span in spans]
    in_reach = [
        at
        for at, cents in enumerate(pitches)
        if cents is not None and any(abs(cents - t) < REACH_CENTS for t in targets_cents)
    ]
    way = _find_way([pitches[at] or 0.0 for at in in_reach], targets_cents)
    chosen = dict(zip(in_reach, way, strict=True))
    return tuple(_propose(cents, chosen.get(at), targets_cents) for at, cents in enumerate(pitches))


def _find_cents(measured: MeasuredSpan, tuning_a_hz: float) -> float | None:
    f0_hz = measured.measurement.f0_hz
    return None if f0_hz is None else 6900 + 1200 * math.log2(f0_hz / tuning_a_hz)


def _propose(cents: float | None, chosen: int | None, targets_cents: Sequence[float]) -> Proposal:
    if cents is None:
        return Proposal(None, None, NoProposal.NO_PITCH)
    if chosen is not None:
        return Proposal(chosen, cents - targets_cents[chosen])
    nearest = min((cents - target for target in targets_cents), key=abs, default=None)
    return Proposal(None, nearest, NoProposal.NO_TARGET_NEAR)


def _find_way(pitches: Sequence[float], targets_cents: Sequence[float]) -> list[int]:
    """The cheapest target for each pitch, all of which have one in reach."""
    if not pitches:
        return []
    targets, moves = np.asarray(targets_cents), _price_moves(len(targets_cents))
    # the first note costs nothing extra, wherever the player begins
    costs = _price(pitches[0], targets)
    came_from = []
    for cents in pitches[1:]:
        reached = costs[:, None] + moves
        came_from.append(np.argmin(reached, axis=0))
        costs = reached.min(axis=0) + _price(cents, targets)
    way = [int(np.argmin(costs))]
    for sources in reversed(came_from):
        way.append(int(sources[way[-1]]))
    return way[::-1]


def _price(cents: float, targets: Floats) -> Floats:
    distance = np.abs(cents - targets)
    return np.where(distance < REACH_CENTS, distance, np.inf)


def _price_moves(count: int) -> Floats:
    """Cost of going on from each target (row) to each (column)."""
    ahead = np.arange(count) - np.arange(count)[:, None]
    skipped = np.minimum(SKIP_COST * (ahead - 1), MOST_SKIPPED_COST)
    return np.where(ahead > 0, skipped, np.where(ahead == 0, REPEAT_COST, BACK_COST))
