"""Note segmentation of a performance: onsets, ends and pitches of quick notes, slurred or tongued.

A row each 5 ms holds pitch and level (`pitch_contour`, with windows as short as the lowest note
lets them be). Sound is parted at silences and at dips of level, as the tongue makes them; within
what is left the pitch is taken as piecewise constant and the steps are found all at once by the
Viterbi algorithm: a row costs how far it lies from its level, at most `FURTHEST_CENTS`, and each
step costs as much as a short note lies apart, so that vibrato and transients make no notes.
Neighbours that lie nearer to each other than the passage's least step are joined.

`splitting` is for held notes: it looks at the 0.14 s before and after a step, which quick notes
don't last.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.pitch.sounding import A4_CENTS
from analysis.recording.pitch_contour import Contour, trace_contour
from analysis.recording.samples import SILENCE_RMS, Samples
from analysis.recording.speech import find_stretches

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]

HOP_S = 0.005
PERIODS_IN_FRAME = 3.2
FRAME_LIMITS_S = (0.024, 0.064)
BELOW = 0.75  # a wrong note may lie so far under the lowest of the passage
AUDIBLE_SHARE = 10 ** (-34 / 20)
NOISE_QUANTILE, OVER_NOISE = 0.03, 10 ** (6 / 20)
SHORTEST_GAP = 3  # rows
DIP_DB = 4.0
DIP_REACH = 12
GRID_CENTS = 10.0
FURTHEST_CENTS = 80.0
STEP_PRICES = (150.0, 400.0)  # cents times rows
PRICE_PER_CENT = 6.0
SHORTEST_EVENT = 9
SHORTEST_PITCH = 10  # rows without the ends: of less only what note it is can be told
TRIMMED = 5  # rows at either end, where the pitch still moves
INDEPENDENT_ROWS = 5  # from one that is to one that no longer follows from it
UNCERTAINTY_CENTS = (0.4, 8.0)
MAD_TO_SIGMA = 1.4826
RELEASE_SHARE = 10 ** (-20 / 20)


@dataclass(frozen=True, slots=True)
class NoteEvent:
    """A stretch of sound with one pitch, in seconds.

    `height_cents` counts with A4 = 6900 at 440 Hz; `uncertainty_cents` is one standard deviation of
    it, None where the sound is too short or too unsteady for a figure in cents. `gap_s` is the
    silence before it, `dip_db` how deep the level fell where it was parted from the event before (0
    where only the pitch changed).
    """

    from_s: float
    to_s: float
    height_cents: float
    gap_s: float
    dip_db: float
    uncertainty_cents: float | None = None

    @property
    def length_s(self) -> float:
        """How long it sounds."""
        return self.to_s - self.from_s

    def moved(self, cents: float) -> NoteEvent:
        """The same at another tuning, so many cents higher."""
        return replace(self, height_cents=self.height_cents + cents)

    def joined_with(self, after: NoteEvent) -> NoteEvent:
        """This event and the one after it as one, as high as both by their lengths."""
        longer = max(self, after, key=lambda each: each.length_s)
        share = after.length_s / (self.length_s + after.length_s)
        apart = after.height_cents - self.height_cents
        known = longer.uncertainty_cents
        return replace(
            self,
            to_s=after.to_s,
            height_cents=self.height_cents + share * apart,
            uncertainty_cents=None if known is None else float(np.hypot(known, apart / 4)),
        )


def find_note_events(
    samples: Samples, sample_rate_hz: float, *, lowest_hz: float, least_step_cents: float = 100.0
) -> tuple[NoteEvent, ...]:
    """Find the notes of a performance in order of time.

    `samples` of shape (n,), full scale -1 to 1, readable, at `sample_rate_hz`; `lowest_hz` is the
    lowest note to be expected, `least_step_cents` the smallest step from one note to the next.

    Limits: notes of 0.05 s and more within 34 dB of the loudest; two of one pitch are told apart
    by a dip of 4 dB.

    >>> time_s = np.arange(16_000) / 8_000
    >>> turns = np.cumsum(np.where(time_s < 1.0, 440.0, 466.16)) / 8_000
    >>> tone = 0.1 * np.sin(2 * np.pi * turns)
    >>> [round(each.height_cents) for each in find_note_events(tone, 8_000, lowest_hz=440.0)]
    [6900, 7000]
    """
    frame_s = float(np.clip(PERIODS_IN_FRAME / lowest_hz / BELOW, *FRAME_LIMITS_S))
    contour = trace_contour(samples, sample_rate_hz, frame_s=frame_s, hop_s=HOP_S)
    if not contour.level.size:
        return ()
    level_db = 20 * np.log10(np.maximum(contour.level, SILENCE_RMS / 10))
    is_heard = _find_heard(contour)
    dips = _find_dips(level_db)
    is_tone = _bridge(np.isfinite(contour.f0_hz) & is_heard, is_heard)
    is_tone[list(dips)] = False
    cents = A4_CENTS + 1200 * np.log2(contour.f0_hz / 440.0)
    least = least_step_cents / 2
    price = float(np.clip(PRICE_PER_CENT * least_step_cents, *STEP_PRICES))
    found: list[NoteEvent] = []
    for first, last in find_stretches(is_tone):
        for start, end in _find_parts(cents[first:last], price, least):
            event = _make_event(contour, cents, (first + start, first + end), found, dips)
            if event is not None:
                found.append(event)
    return tuple(found)


def _find_heard(contour: Contour) -> Bools:
    """Rows above the room's noise and not far below the loudest."""
    loudest = float(np.quantile(contour.level, 0.99))
    floor = OVER_NOISE * float(np.quantile(contour.level, NOISE_QUANTILE))
    limit = AUDIBLE_SHARE * loudest
    if floor < RELEASE_SHARE * loudest:  # else there is no pause in which the room is heard
        limit = max(limit, floor)
    return np.asarray(contour.level > max(SILENCE_RMS, limit))


def _bridge(is_on: Bools, is_heard: Bools) -> Bools:
    """Rows heard that have no clear pitch for a moment don't end a note."""
    filled = is_on.copy()
    beside = np.pad(is_on, 1)
    for first, last in find_stretches(~is_on & is_heard):
        if last - first <= SHORTEST_GAP and beside[first] and beside[last + 1]:
            filled[first:last] = True
    return filled


def _find_dips(level_db: Floats) -> dict[int, float]:
    """Rows where the level is lowest for a moment, with the depth in dB of the shallower side."""
    reach = DIP_REACH
    around = np.lib.stride_tricks.sliding_window_view(
        np.pad(level_db, reach, mode="edge"), reach + 1
    )
    before, after = around[: len(level_db)].max(axis=1), around[reach:].max(axis=1)
    near = np.lib.stride_tricks.sliding_window_view(np.pad(level_db, 3, mode="edge"), 7)
    depth = np.minimum(before, after) - level_db
    rows = np.flatnonzero((depth >= DIP_DB) & (level_db <= near.min(axis=1)))
    return {int(row): float(depth[row]) for row in rows}


def _find_parts(cents: Floats, price: float, least_cents: float) -> Iterator[tuple[int, int]]:
    """Parts of one pitch within a stretch of sound: first row, and one past the last."""
    known = np.flatnonzero(np.isfinite(cents))
    if known.size == 0:
        return
    path = _follow_levels(cents, price)
    edges = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), len(path)]
    parts = [
        (first, last)
        for first, last in pairwise(edges)
        if last - first >= SHORTEST_EVENT or len(edges) == 2
    ]
    joined: list[tuple[int, int]] = []
    for part in parts:
        if (
            joined
            and abs(_find_height(cents, part) - _find_height(cents, joined[-1])) < least_cents
        ):
            joined[-1] = (joined[-1][0], part[1])
        else:
            joined.append(part)
    yield from joined


def _find_height(cents: Floats, part: tuple[int, int]) -> float:
    inside = cents[slice(*part)]
    inside = inside[np.isfinite(inside)]
    return float(np.median(inside)) if inside.size else float("nan")


def _follow_levels(cents: Floats, price: float) -> NDArray[np.intp]:
    """The level of each row on a grid of `GRID_CENTS`, with steps that cost `price` (Viterbi).

    Viterbi, IEEE Trans. Inform. Theory 13, 1967 (from memory).
    """
    known = cents[np.isfinite(cents)]
    # only levels that some row has are worth trying
    grid = np.unique(np.round(known / GRID_CENTS)) * GRID_CENTS
    costs = np.minimum(np.abs(cents[:, np.newaxis] - grid), FURTHEST_CENTS)
    costs = np.where(np.isfinite(costs), costs, 0.0)
    before = np.zeros(costs.shape, dtype=np.int32)
    every = np.arange(len(grid))
    total = costs[0]
    for row in range(1, len(costs)):
        cheapest = int(np.argmin(total))
        is_step = total > total[cheapest] + price
        before[row] = np.where(is_step, cheapest, every)
        total = np.where(is_step, total[cheapest] + price, total) + costs[row]
    path = np.zeros(len(costs), dtype=np.intp)
    path[-1] = int(np.argmin(total))
    for row in range(len(costs) - 1, 0, -1):
        path[row - 1] = before[row, path[row]]
    return path


def _make_event(
    contour: Contour,
    cents: Floats,
    rows: tuple[int, int],
    before: list[NoteEvent],
    dips: dict[int, float],
) -> NoteEvent | None:
    """The event of some rows, without its release; None where no pitch is known in it."""
    first, last = rows
    level = contour.level[first:last]
    last = first + int(np.flatnonzero(level >= RELEASE_SHARE * np.quantile(level, 0.9))[-1]) + 1
    trimmed = min(TRIMMED, (last - first) // 4)
    height_cents = _find_height(cents, (first + trimmed, last - trimmed))
    if last - first < SHORTEST_EVENT or not np.isfinite(height_cents):
        return None
    from_s, to_s = float(contour.times_s[first]), float(contour.times_s[last - 1]) + HOP_S
    start_s = before[-1].to_s if before else 0.0
    between = range(round((start_s - float(contour.times_s[0])) / HOP_S) - 2, first + 1)
    return NoteEvent(
        from_s=round(from_s, 4),
        to_s=round(to_s, 4),
        height_cents=round(height_cents, 2),
        gap_s=round(max(0.0, from_s - start_s), 4),
        dip_db=round(max((dips.get(row, 0.0) for row in between), default=0.0), 1),
        uncertainty_cents=_find_uncertainty(cents[first + trimmed : last - trimmed]),
    )


def _find_uncertainty(cents: Floats) -> float | None:
    """One standard deviation of the median of some rows; None where no figure can be known."""
    known = cents[np.isfinite(cents)]
    if len(known) < SHORTEST_PITCH or len(known) < len(cents) / 2:
        return None
    least, most = UNCERTAINTY_CENTS
    spread = MAD_TO_SIGMA * float(np.median(np.abs(known - np.median(known))))
    uncertainty = float(np.hypot(spread / np.sqrt(len(known) / INDEPENDENT_ROWS), least))
    return round(uncertainty, 2) if uncertainty <= most else None
