"""Costs of a passage: what a note costs with a fingering, and what the way to the next one costs.

All weights are judgement, not measured; only their order of size means something. A cost of 1 is
about one finger that moves at four notes a second, or ten cents too far off on a note held half a
second or longer.

=====================  ==========================================================================
of a note              cost
=====================  ==========================================================================
pitch                  T * E[max(0, |X| - tolerance)] / 10 cents, X normal with offset and
                       uncertainty, T = min(1, length / 0.5 s)
evidence               measured 0, ordinary 0.3, not tried 0.8, predicted 2 * (1 - chance)
response               ((resistance - 1) / 4) squared, once more where the note is attacked, once
                       more in pp; 1 where it is slow to speak at pp and pp is asked
hands                  1 / ease - 1
player's word          1 for anything beside what the player calls theirs
=====================  ==========================================================================

A trill costs the notes of both fingerings, the upper one with a tolerance of 25 cents, and twice
the motion there and back.

=====================  ==========================================================================
of a transition        cost
=====================  ==========================================================================
motion                 times 0.25 s over the time for it (0.25 to 4), times 1 slurred, 0.7 tongued,
                       1.2 tongued within 0.15 s: fingers spoil the tongue's timing when fast
                       (Hofmann & Goebl 2016)
crossing, slurred      1 where the register key changes; 0.1 for each hole by which the two differ
                       in how far they are covered below the first open hole, at most 0.5
=====================  ==========================================================================
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from itertools import product
from math import erf, exp, pi, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.keywork import Acts, Finger, Hand, HoleState, KeyStates, State, find_hole_states
from analysis.planning.motion_cost import Played

TRILL_TOLERANCE_CENTS = 25.0
FASTEST_S = 0.05
_FULL_LENGTH_S, _USUAL_GAP_S = 0.5, 0.25
_LEAST_PACE, _MOST_PACE = 0.25, 4.0
_TONGUED, _TONGUED_FAST, _FAST_S = 0.7, 1.2, 0.15
_REGISTER_CHANGE, _PER_COVERED, _MOST_COVERED = 1.0, 0.1, 0.5
_TRILL_TIMES = 2.0
_LEAST_EASE = 0.05


class Backing(StrEnum):
    """Evidence behind a fingering."""

    MEASURED = "measured"
    ORDINARY = "ordinary"
    NOT_TRIED = "not tried"
    PREDICTED = "predicted"


_BACKING_COSTS = {Backing.MEASURED: 0.0, Backing.ORDINARY: 0.3, Backing.NOT_TRIED: 0.8}
_PREDICTED = 2.0


class Emphasis(StrEnum):
    """Aim that a passage is fingered for."""

    SAFEST = "safest"
    IN_TUNE = "most in tune"


@dataclass(frozen=True, slots=True)
class PassageWeights:
    """How much pitch, evidence with response, and motion count."""

    pitch: float = 1.0
    safety: float = 1.0
    motion: float = 1.0

    @classmethod
    def of(cls, emphasis: Emphasis) -> PassageWeights:
        """Return the weights of the player's one switch."""
        if emphasis is Emphasis.IN_TUNE:
            return cls(pitch=4.0, safety=0.7, motion=0.5)
        return cls()


@dataclass(frozen=True, slots=True)
class FingeringOption:
    """A fingering for a note, with what is known of it.

    `played` has the written cents of the note; offset and uncertainty are cents from it.
    `chance` (0 to 1) is that of a predicted one to serve. `resistance` is 1 to 5, `ease` 0 to 1;
    `speaks_softly` None where it was not tried. `is_own`: the player calls it theirs here,
    `has_other_own`: another one.
    """

    played: Played
    backing: Backing
    offset_cents: float
    sigma_cents: float
    ease: float
    chance: float = 1.0
    resistance: int | None = None
    speaks_softly: bool | None = None
    is_own: bool = False
    has_other_own: bool = False

    @property
    def fingering(self) -> KeyStates:
        """Its key states."""
        return self.played.fingering


@dataclass(frozen=True, slots=True)
class PassageState:
    """One way to play a note: the place of its option, and of a trill that of the other note."""

    option: int
    partner: int | None = None


@dataclass(frozen=True, slots=True)
class PassageNote:
    """A note of a passage.

    `options` is one tuple for all places of a pitch. `length_s` is how long it sounds, `gap_s` the
    time from its onset to that of the next. `is_slurred`: joined to the note before. `partners`
    are the options of the other note of a trill or tremolo, empty for none.
    """

    options: tuple[FingeringOption, ...]
    length_s: float
    gap_s: float
    tolerance_cents: float = 10.0
    is_slurred: bool = False
    is_soft: bool = False
    partners: tuple[FingeringOption, ...] = ()
    states: tuple[PassageState, ...] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        if not self.options:
            raise ValueError("A note without any option has no place in a passage.")
        mains = range(len(self.options))
        pairs = product(mains, range(len(self.partners)) if self.partners else (None,))
        object.__setattr__(self, "states", tuple(PassageState(*pair) for pair in pairs))

    @property
    def circumstance(self) -> tuple[float, float, bool, bool]:
        """Facts that decide about its costs, besides the options."""
        return self.length_s, self.tolerance_cents, self.is_slurred, self.is_soft


def find_node_cost(
    note: PassageNote,
    state: PassageState,
    weights: PassageWeights,
    both_ways: Callable[[FingeringOption, FingeringOption], float],
) -> float:
    """Find what a note costs in a state; `both_ways` says what going there and back costs."""
    main = note.options[state.option]
    cost = _find_own_cost(note, main, weights, note.tolerance_cents)
    if state.partner is None:
        return cost
    partner = note.partners[state.partner]
    tolerance_cents = max(note.tolerance_cents, TRILL_TOLERANCE_CENTS)
    cost += _find_own_cost(note, partner, weights, tolerance_cents)
    return cost + weights.motion * _TRILL_TIMES * both_ways(main, partner)


def _find_own_cost(
    note: PassageNote, option: FingeringOption, weights: PassageWeights, tolerance_cents: float
) -> float:
    heard = min(1.0, note.length_s / _FULL_LENGTH_S)
    miss = find_expected_miss(option.offset_cents, option.sigma_cents, tolerance_cents)
    known = _BACKING_COSTS.get(option.backing)
    evidence = _PREDICTED * (1.0 - option.chance) if known is None else known
    hand = 1.0 / max(option.ease, _LEAST_EASE) - 1.0
    word = 1.0 if option.has_other_own and not option.is_own else 0.0
    safety = evidence + _find_response_cost(note, option)
    return weights.pitch * heard * miss / 10.0 + weights.safety * safety + hand + word


def _find_response_cost(note: PassageNote, option: FingeringOption) -> float:
    slow = 0.0 if option.resistance is None else ((option.resistance - 1) / 4.0) ** 2
    cost = slow * (1 + (not note.is_slurred) + note.is_soft)
    if note.is_soft and option.speaks_softly is False:
        cost += 1.0
    return cost


def find_expected_miss(offset_cents: float, sigma_cents: float, tolerance_cents: float) -> float:
    """Find how far beyond the tolerance a note is expected, E[max(0, |X| - tolerance)], in cents.

    X is normal. In closed form: for one side m Phi(m / s) + s phi(m / s), where m is how far the
    mean lies beyond the tolerance.

    >>> find_expected_miss(17.0, 0.0, 10.0)
    7.0
    >>> round(find_expected_miss(0.0, 10.0, 0.0), 3)
    7.979
    """
    return sum(
        _find_one_side(side * offset_cents - tolerance_cents, sigma_cents) for side in (1, -1)
    )


def _find_one_side(beyond_cents: float, sigma_cents: float) -> float:
    if sigma_cents <= 0.0:
        return max(0.0, beyond_cents)
    share = beyond_cents / sigma_cents
    below = 0.5 * (1.0 + erf(share / sqrt(2.0)))
    return beyond_cents * below + sigma_cents * exp(-0.5 * share * share) / sqrt(2.0 * pi)


def find_urgency(first: PassageNote, second: PassageNote) -> float:
    """Find what motion between two notes counts times, by the time for it and the tongue."""
    gap_s = max(first.gap_s, FASTEST_S)
    pace = min(max(_USUAL_GAP_S / gap_s, _LEAST_PACE), _MOST_PACE)
    if second.is_slurred:
        return pace
    return pace * (_TONGUED_FAST if gap_s < _FAST_S else _TONGUED)


class _Air(NamedTuple):
    """The register keys that are down, and how many holes are covered below the first open one."""

    registers: frozenset[str]
    covered: int


@lru_cache(maxsize=50_000)
def _describe_air(fingering: KeyStates) -> _Air:
    """Find the register keys that are down, and how many holes are covered below the first open."""
    registers = frozenset(
        key.id
        for key, state in zip(fingering.layout.keys, fingering.states, strict=True)
        if key.hand is Hand.LEFT
        and key.finger is Finger.THUMB
        and key.acts is Acts.OPENS
        and state is not State.UP
    )
    states = find_hole_states(fingering)
    covered, is_open = 0, False
    for hole in fingering.layout.holes:
        is_tone = hole.finger_key_id is not None or hole.stands_open
        if is_tone and states[hole.id] is HoleState.OPEN:
            is_open = True
        elif is_tone and is_open and states[hole.id] is HoleState.CLOSED:
            covered += 1
    return _Air(registers, covered)


def find_register_change(first: KeyStates, second: KeyStates) -> bool:
    """Tell whether a register key changes between two fingerings."""
    return _describe_air(first).registers != _describe_air(second).registers


def find_crossings(
    first: Sequence[FingeringOption], second: Sequence[FingeringOption]
) -> NDArray[np.float64]:
    """Find what slurs cost beside the motion, by register and colour, shape (first, second)."""
    before, after = ([_describe_air(each.fingering) for each in some] for some in (first, second))
    covered = [np.array([one.covered for one in some]) for some in (before, after)]
    apart = np.abs(covered[0][:, np.newaxis] - covered[1])
    changes = np.array([[one.registers != two.registers for two in after] for one in before])
    colour = np.minimum(_MOST_COVERED, _PER_COVERED * apart)
    return np.asarray(_REGISTER_CHANGE * changes + colour)
