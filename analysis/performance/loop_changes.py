"""Segmentation of a two-note loop: where each of its two notes stands, and the changes between.

Rows of a pitch contour (`pitch_contour`, as short windows as the lower note lets them be, a row
each 2.5 ms) fall into two clusters about the two expected notes (k-means with two means, Lloyd's
algorithm; from memory). A row stands on a note where it lies near the cluster's median; a visit is
what stands on one note until the other is reached, and a change leads from the last row on one note
to the first on the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.performance.errors import NoLoop
from analysis.recording.alternation import does_stand
from analysis.recording.pitch_contour import Contour, trace_contour
from analysis.recording.samples import SILENCE_RMS, Samples
from analysis.recording.speech import find_stretches

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]

HOP_S = 0.0025
PERIODS_IN_FRAME = 3.2
FRAME_LIMITS_S = (0.024, 0.064)
AUDIBLE_SHARE = 10 ** (-25 / 20)
FURTHEST_CENTS = 70.0  # a note may lie so far from where it was expected
LEAST_APART_CENTS = 25.0
WIDEST_VIBRATO_CENTS = 60.0  # from end to end, on a clarinet (from memory)
LEAST_APART_SHARE = 0.5  # of the interval that was expected
NEAR_SHARE, NEAR_CENTS = 0.22, (8.0, 45.0)  # of the interval, within limits
SHORTEST_VISIT_S = 0.02
LONGEST_CHANGE_S = 0.4  # beyond it the loop was broken off
OTHER_PITCH_CENTS = 60.0  # so far outside both notes another one is heard
SHORTEST_BETWEEN_S = 0.015
SILENT_SHARE = 10 ** (-20 / 20)
LEAST_OF_PAIR = 0.6  # of what is heard
MEANS_STEPS = 12
STEADY_SHARE = 0.9  # of its visits, what stands on a note


@dataclass(frozen=True, slots=True)
class TwoNotes:
    """The medians of the two notes in cents above the expected lower one, and how near counts."""

    lower_cents: float
    upper_cents: float

    @property
    def near_cents(self) -> float:
        """How far from its median a row still stands on a note."""
        return float(np.clip(NEAR_SHARE * (self.upper_cents - self.lower_cents), *NEAR_CENTS))

    def find_standing(self, cents: Floats) -> tuple[Bools, Bools]:
        """Tell which rows stand on the lower and which on the upper note.

        `cents` of shape (n,) counts from the expected lower note; NaN (no pitch) is on none.
        """
        with np.errstate(invalid="ignore"):
            near = self.near_cents
            return np.abs(cents - self.lower_cents) <= near, np.abs(
                cents - self.upper_cents
            ) <= near


@dataclass(frozen=True, slots=True)
class Visit:
    """Rows on one note: the first and the last that stand on it."""

    is_upper: bool
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class NoteChange:
    """A change of note, in seconds: the last moment on the one note, the first on the other.

    `is_silent`: the sound broke off meanwhile. `is_other`: another note was heard in between.
    """

    is_up: bool
    leaves_s: float
    arrives_s: float
    is_silent: bool
    is_other: bool

    @property
    def middle_s(self) -> float:
        """Its middle."""
        return 0.5 * (self.leaves_s + self.arrives_s)

    @property
    def length_s(self) -> float:
        """From leaving to arriving, as the windows see it."""
        return self.arrives_s - self.leaves_s

    @property
    def is_break(self) -> bool:
        """Whether it took so long that the loop was broken off."""
        return self.length_s > LONGEST_CHANGE_S


@dataclass(frozen=True, slots=True)
class LoopContour:
    """A contour with its pitch in cents above the expected lower note, and the window's length."""

    contour: Contour
    cents: Floats
    frame_s: float


def choose_frame_s(lower_hz: float) -> float:
    """Choose the window in seconds for a loop whose lower note is expected at `lower_hz`."""
    lowest_hz = lower_hz * 2 ** (-FURTHEST_CENTS / 1200)
    return float(np.clip(PERIODS_IN_FRAME / lowest_hz, *FRAME_LIMITS_S))


def trace_loop(samples: Samples, sample_rate_hz: float, lower_hz: float) -> LoopContour:
    """Trace the pitch of samples from an expected lower note in Hz.

    `samples` of shape (n,), full scale -1 to 1.
    """
    frame_s = choose_frame_s(lower_hz)
    contour = trace_contour(samples, sample_rate_hz, frame_s=frame_s, hop_s=HOP_S)
    return LoopContour(contour, 1200 * np.log2(contour.f0_hz / lower_hz), frame_s)


def find_two_notes(cents: Floats, is_heard: Bools, interval_cents: float) -> TwoNotes:
    """Find where the two notes of a loop lie.

    `cents` of shape (n,) counts from the expected lower note, `is_heard` tells which rows sound;
    `interval_cents` is how far the upper note is expected above the lower.

    Raises:
        NoLoop: one of the two is not heard, or mostly other notes are.
    """
    heard = cents[is_heard & np.isfinite(cents)]
    around = heard[(heard > -FURTHEST_CENTS) & (heard < interval_cents + FURTHEST_CENTS)]
    if len(around) < LEAST_OF_PAIR * max(len(heard), 1) or not len(around):
        raise NoLoop("Other notes than these two are heard. Slur back and forth between both.")
    low, high = 0.0, interval_cents
    for _ in range(MEANS_STEPS):
        is_high = around > 0.5 * (low + high)
        if is_high.all() or not is_high.any():
            which = "upper" if is_high.all() else "lower"
            raise NoLoop(f"Only the {which} note is heard. Slur back and forth between both.")
        low, high = float(np.median(around[~is_high])), float(np.median(around[is_high]))
    if high - low < max(LEAST_APART_CENTS, LEAST_APART_SHARE * interval_cents):
        raise NoLoop("Only one note is heard. Slur back and forth between both.")
    if high - low < WIDEST_VIBRATO_CENTS and not does_stand(around, low, high):
        raise NoLoop("The pitch swings as in vibrato. Slur back and forth between both notes.")
    return TwoNotes(low, high)


def find_visits(notes: TwoNotes, cents: Floats) -> list[Visit]:
    """Find the visits to the two notes in order of time; too short ones are none.

    `cents` of shape (n,) counts from the expected lower note, NaN where nothing has a pitch.
    """
    on_lower, on_upper = notes.find_standing(cents)
    visits: list[Visit] = []
    for is_upper, first, last in sorted(
        (
            (side, first, last - 1)
            for side, standing in ((False, on_lower), (True, on_upper))
            for first, last in find_stretches(standing)
            if (last - first) * HOP_S >= SHORTEST_VISIT_S
        ),
        key=lambda each: each[1],
    ):
        goes_on = bool(visits) and (first - visits[-1].last) * HOP_S <= LONGEST_CHANGE_S
        if goes_on and visits[-1].is_upper == is_upper:
            visits[-1] = Visit(is_upper, visits[-1].first, last)
        else:
            visits.append(Visit(is_upper, first, last))
    return visits


def are_steady(notes: TwoNotes, cents: Floats, visits: list[Visit]) -> bool:
    """Tell whether the pitch stays on each note while it is held, and does not swing about.

    `cents` of shape (n,) counts from the expected lower note.
    """
    standing = notes.find_standing(cents)
    for is_upper in (False, True):
        rows = [standing[is_upper][v.first : v.last + 1] for v in visits if v.is_upper == is_upper]
        if not rows or float(np.mean(np.concatenate(rows))) < STEADY_SHARE:
            return False
    return True


def find_changes(notes: TwoNotes, loop: LoopContour, visits: list[Visit]) -> list[NoteChange]:
    """Find the changes between visits, with what is heard meanwhile."""
    times_s, level = loop.contour.times_s, loop.contour.level
    usual = float(np.median(level[np.isfinite(loop.cents)]))
    outside = np.maximum(notes.lower_cents - loop.cents, loop.cents - notes.upper_cents)
    with np.errstate(invalid="ignore"):
        is_other = outside > OTHER_PITCH_CENTS
    return [
        NoteChange(
            is_up=after.is_upper,
            leaves_s=float(times_s[before.last]),
            arrives_s=float(times_s[after.first]),
            is_silent=_lasts(level[before.last : after.first] < SILENT_SHARE * usual),
            is_other=_lasts(is_other[before.last : after.first]),
        )
        for before, after in pairwise(visits)
    ]


def _lasts(is_on: Bools) -> bool:
    return any(
        (last - first) * HOP_S >= SHORTEST_BETWEEN_S for first, last in find_stretches(is_on)
    )


def find_heard(level: Floats) -> Bools:
    """Tell which rows sound, by their RMS level, shape (n,), full scale 1."""
    return np.asarray(level > max(SILENCE_RMS, AUDIBLE_SHARE * float(np.quantile(level, 0.9))))
