"""Judgement of suggestions for targets: one way of counting for all simulated players.

A target counts where it can be hit: where a log has met it, one of the suggestions truly does, or
any of the 60 fingerings of the pool does that the bare tube puts nearest to it. It is hit where a
log has met it (the notebook has it then) or one of five suggestions does. What no fingering in
reach gives is no miss.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from analysis.finder import LoggedPitch, PlayerModel, RankedFingering, Wishes, suggest
from analysis.finder.spots import Real, Spots
from analysis.finder.tube import Tube
from analysis.keywork import KeyStates
from analysis.pitch import WrittenPitch

TOLERANCE_CENTS = 10.0
WISHES = Wishes(tolerance_cents=TOLERANCE_CENTS)
_NEAREST = 60


class Truth(Protocol):
    """A simulated player: the tube that is believed of the instrument, and where spots sound."""

    @property
    def tube(self) -> Tube:
        """The tube that is believed."""

    def find_cents(self, spots: Spots) -> Real:
        """Find where spots truly sound, written cents; not-a-number where they do not speak."""


@dataclass(frozen=True)
class Judged:
    """Outcome of one target.

    `items` are the suggestions that were called worth trying, `offsets` how far each truly sounds
    from the target, cents, shape (items,); both are empty where a log had met the target.
    """

    is_possible: bool
    is_hit: bool
    is_met: bool
    items: tuple[RankedFingering, ...]
    offsets: Real

    @property
    def said(self) -> float:
        """The chance that one of the suggestions hits, as if they missed independently."""
        return 1.0 - float(np.prod([1.0 - one.chance for one in self.items]))


def judge_target(
    truth: Truth,
    pool: Spots,
    model: PlayerModel,
    target: WrittenPitch,
    wishes: Wishes = WISHES,
) -> Judged:
    """Ask for one target and judge what was suggested; `pool` is what may be asked for at all."""
    nothing: tuple[RankedFingering, ...] = ()
    played = [log for log in model.logs if log.offset_cents is not None]
    if _is_met(truth, played, target):
        return Judged(
            is_possible=True, is_hit=True, is_met=True, items=nothing, offsets=np.zeros(0)
        )
    items = suggest(target, model=model, starts=(), wishes=wishes).items
    offsets = find_offsets(truth, [one.fingering for one in items], target)
    is_hit = bool(np.any(np.abs(offsets) <= TOLERANCE_CENTS))
    worth = [place for place, one in enumerate(items) if one.is_within_reach]
    return Judged(
        is_possible=is_hit or can_hit(truth, pool, target),
        is_hit=is_hit,
        is_met=False,
        items=tuple(items[place] for place in worth),
        offsets=offsets[worth],
    )


def _is_met(truth: Truth, logs: Sequence[LoggedPitch], target: WrittenPitch) -> bool:
    offsets = find_offsets(truth, [log.fingering for log in logs], target)
    return bool(np.any(np.abs(offsets) <= TOLERANCE_CENTS))


def find_offsets(truth: Truth, fingerings: Sequence[KeyStates], target: WrittenPitch) -> Real:
    """Find how far fingerings truly sound from a target, cents, shape (n,)."""
    if not fingerings:
        return np.zeros(0)
    tube = truth.tube
    keys = np.array([tube.linkage.encode(one) for one in fingerings], dtype=np.uint64)
    wanted = float(target.cents) + tube.treble_shift_cents
    spots = tube.find_nearest(tube.linkage.find_holes(keys), np.full(len(keys), wanted))
    return np.asarray(truth.find_cents(spots) - wanted)


def can_hit(truth: Truth, pool: Spots, target: WrittenPitch) -> bool:
    """Tell whether one of the fingerings of the pool nearest to a target truly meets it."""
    wanted = float(target.cents) + truth.tube.treble_shift_cents
    nearest = np.argsort(np.abs(pool.cents - wanted), kind="stable")[:_NEAREST]
    offsets = truth.find_cents(pool.select(nearest)) - wanted
    return bool(np.any(np.abs(offsets) <= TOLERANCE_CENTS))
