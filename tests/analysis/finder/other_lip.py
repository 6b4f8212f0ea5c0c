"""Lip of a simulated player of another physics, and the takes that show it.

The lip lets the reed give way by some mm, down and up, and by the same in all notes of a register;
how far a note moves follows from the player's own tube and reed, which the learner does not know.
In the median over the ordinary notes of a register that is the usual reach, more or less by a
third from player to player. A player shows it by takes played without watching the pitch and
watching it, and by the span of a fingering from soft to loud, which is a half of the way down,
more or less by a third. Sizes: judgement, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.acoustics import decode_holes
from analysis.acoustics.calibration_notes import list_notes
from analysis.acoustics.lip import find_lip_slopes
from analysis.finder import LoggedPitch
from analysis.finder.inputs import USUAL_LIP, DynamicSpan, LipTry
from analysis.finder.spots import ALTISSIMO_NUMBER, Numbers, Real, Spots
from analysis.keywork import KeyStates
from analysis.pitch import Register, WrittenPitch, register_of
from tests.analysis.finder.other_physics import OtherPlayer

_SPREAD = 0.3
_SPAN_SHARE, _SPAN_SIGMA_CENTS = 0.5, 1.5
_WATCHED_CENTS = 2.0
# Every second fingering was also played watching, every third at several dynamics.
_TRY_STEP, _SPAN_STEP = 2, 3
_GROUPS = (Register.CHALUMEAU, Register.CLARION, Register.ALTISSIMO)


class Bends(NamedTuple):
    """How far some spots can be bent down and up, cents at least 0, each of shape (n,)."""

    down: Real
    up: Real


@dataclass(frozen=True)
class OtherLip:
    """The lip of one player: mm of the reed, down and up, for each of `_GROUPS`, shape (2, 3)."""

    player: OtherPlayer
    millimetres: Real

    def find_bends(self, spots: Spots) -> Bends:
        """Find how far spots can be bent; not-a-number where the true tube has no resonance."""
        down, up = self.millimetres[:, _place_groups(spots)] * _find_slopes(self.player, spots)
        return Bends(down, up)

    def find_bends_of(self, fingerings: Sequence[KeyStates], target: WrittenPitch) -> Bends:
        """Find how far some fingerings can be bent where they sound nearest to a target."""
        return self.find_bends(self.player.find_spots(fingerings, target))

    def show_tries(self, logs: Sequence[LoggedPitch]) -> tuple[LipTry, ...]:
        """Play logged fingerings watching: brought as near to their note as the lip can."""
        shown = []
        for log, bends, rng in self._pick(logs, _TRY_STEP):
            offset = float(log.offset_cents or 0.0)
            brought = offset - float(np.clip(offset, -bends.up[0], bends.down[0]))
            brought += _WATCHED_CENTS * float(rng.standard_normal())
            shown.append(LipTry(register_of(log.written), offset, brought))
        return tuple(shown)

    def show_spans(self, logs: Sequence[LoggedPitch]) -> tuple[DynamicSpan, ...]:
        """Play logged fingerings at several dynamics."""
        shown = []
        for log, bends, rng in self._pick(logs, _SPAN_STEP):
            share = _SPAN_SHARE * math.exp(_SPREAD * float(rng.standard_normal()))
            span = share * bends.down[0] + _SPAN_SIGMA_CENTS * float(rng.standard_normal())
            shown.append(
                DynamicSpan(log.fingering, log.written, max(0.0, float(span)), _SPAN_SIGMA_CENTS)
            )
        return tuple(shown)

    def _pick(
        self, logs: Sequence[LoggedPitch], step: int
    ) -> list[tuple[LoggedPitch, Bends, np.random.Generator]]:
        picked = []
        for number, log in enumerate(logs):
            if number % step == 0 and log.offset_cents is not None:
                rng = np.random.default_rng([self.player.seed, 5, step, number])
                picked.append((log, self.find_bends_of([log.fingering], log.written), rng))
        return picked


def make_other_lip(player: OtherPlayer) -> OtherLip:
    """Make the lip of a player, the same for the same seed."""
    notes = list_notes(player.tube.layout)
    keys = np.array([player.tube.linkage.encode(note.fingering) for note in notes], dtype=np.uint64)
    numbers = np.array([note.number for note in notes], dtype=np.int64)
    wanted = np.array([float(note.written.cents) for note in notes])
    spots = Spots(player.tube.linkage.find_holes(keys), numbers, wanted)
    slopes, groups = _find_slopes(player, spots), _place_groups(spots)
    usual = np.array([np.nanmedian(slopes[groups == n]) for n in range(len(_GROUPS))])
    factors = np.exp(_SPREAD * np.random.default_rng([player.seed, 6]).standard_normal((2, 1)))
    reaches = [USUAL_LIP.find_reach(register) for register in _GROUPS]
    cents = np.array([[one.sharp_cents for one in reaches], [one.flat_cents for one in reaches]])
    return OtherLip(player, factors * cents / usual)


def _place_groups(spots: Spots) -> Numbers:
    return np.minimum(spots.numbers, ALTISSIMO_NUMBER) - 1


def _find_slopes(player: OtherPlayer, spots: Spots) -> Real:
    """Find how far true notes fall for each mm that the reed acts longer, shape (n,), cents."""
    cents = player.find_exact_cents(spots)
    slopes = np.full(len(spots), np.nan)
    known = np.flatnonzero(np.isfinite(cents))
    if len(known):
        states = decode_holes(spots.holes[known], len(player.model.geometry.holes))
        sounding = cents[known] + player.model.geometry.treble_transposition_cents
        slopes[known] = find_lip_slopes(player.model, states, sounding)
    return slopes
