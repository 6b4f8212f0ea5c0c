"""Selection of takes: which of a fingering's takes count, by clustering and outlier rejection.

A take played in another register, or with another fingering than the one it was logged for, is no
evidence of this one. Takes are judged as a set, so that their order changes nothing:

1. Clustering by pitch: the largest group within `GROUP_CENTS` is where the fingering sounds; a tie
   goes to the group nearer the note it was logged for.
2. With fewer than `FEWEST_TAKES` takes no group can be trusted by its size. Each take is compared
   with that note and with what a tube that was taught nothing expects; the player's own model is
   never asked, since it has learned from these very takes.
3. Outlier rejection inside the group, among takes of one dynamic on one day: a take is left out
   where it lies further than `SCATTER_CENTS` and four standard deviations from three or more others
   that agree, and fewer takes lie where it does. Median and median absolute deviation, as in
   `pooling`; the limits are judgement, from memory.

The player's word stands above all of this.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median
from typing import NamedTuple

from analysis.recording.pooling import find_scale

GROUP_CENTS = 60.0
FARTHEST_CENTS = 300.0
FEWEST_TAKES = 3
FEWEST_AGREEING = 3
SCATTER_CENTS = 35.0
SCATTER_DEVIATIONS = 4.0
HALF_HOLE_FACTOR = 2.0
UNSURE_SIGMA_CENTS = 30.0


class TakeStanding(StrEnum):
    """Whether a take counts for its fingering, and if not, why."""

    COUNTS = "counts"
    NO_PITCH = "no pitch"
    LOST_SOUND = "lost sound"
    OTHER_GROUP = "other group"
    UNEXPECTED = "unexpected"
    WAITS = "waits"
    SCATTERED = "scattered"
    WATCHED = "watched"


OTHER_NOTES = frozenset({TakeStanding.OTHER_GROUP, TakeStanding.UNEXPECTED, TakeStanding.WAITS})
"""Standings of takes that sounded as another note."""


class Expectation(NamedTuple):
    """Where the untaught tube expects a fingering, in cents from the note it was logged for."""

    offset_cents: float
    sigma_cents: float

    @property
    def is_sure(self) -> bool:
        """Whether it can stand against a take."""
        return self.sigma_cents <= UNSURE_SIGMA_CENTS


@dataclass(frozen=True, slots=True)
class TakeReading:
    """A take as selection sees it.

    `offset_cents` is its distance from the note that the fingering was logged for; None where no
    pitch was found. `cell` is equal for takes of one dynamic, set-up and day.
    """

    offset_cents: float | None
    cell: Hashable = None
    is_spoilt: bool = False
    """Whether sound was lost, or clipped beyond use."""
    is_watched: bool = False
    """Whether it was played with an eye on the trace."""
    is_confirmed: bool = False
    """Whether the player said that it counts."""


Offsets = dict[int, float]
"""Offsets in cents by the place of the reading."""
Standings = dict[int, TakeStanding]
"""Standings of the takes that are set aside, by the place of the reading."""


def select_takes(
    readings: Sequence[TakeReading],
    *,
    expectation: Expectation | None = None,
    has_half_hole: bool = False,
) -> tuple[TakeStanding, ...]:
    """Select the takes that count, the same whatever their order.

    Args:
        readings: all takes of a fingering outside the bin, watched ones included.
        expectation: of the untaught tube; None where none is known.
        has_half_hole: such a fingering may scatter twice as far.

    Returns:
        What became of each reading, in their order. Takes that were played watching count only
        where no other does.

    >>> wrong = [TakeReading(-4.0), TakeReading(-5.1), TakeReading(-3.2), TakeReading(-607.0)]
    >>> [each.value for each in select_takes(wrong)]
    ['counts', 'counts', 'counts', 'other group']
    """
    standings = [_judge_alone(each) for each in readings]
    offsets = {
        place: each.offset_cents
        for place, each in enumerate(readings)
        if standings[place] is TakeStanding.COUNTS and each.offset_cents is not None
    }
    is_few = len(offsets) < FEWEST_TAKES
    set_aside = _compare_few(readings, offsets, expectation) if is_few else {}
    for reject in (_leave_largest_group, _reject_outliers, _leave_unwatched):
        group = {place: cents for place, cents in offsets.items() if place not in set_aside}
        set_aside |= reject(readings, group, HALF_HOLE_FACTOR if has_half_hole else 1.0)
    for place, standing in set_aside.items():
        standings[place] = standing
    return tuple(standings)


def asks_the_tube(readings: Sequence[TakeReading]) -> bool:
    """Whether what the untaught tube expects could change anything about some takes."""
    heard = [each for each in readings if _judge_alone(each) is TakeStanding.COUNTS]
    return len(heard) < FEWEST_TAKES and any(
        GROUP_CENTS < abs(each.offset_cents or 0.0) <= FARTHEST_CENTS and not each.is_confirmed
        for each in heard
    )


def find_largest_group(
    offsets_cents: Sequence[float], width_cents: float = GROUP_CENTS
) -> tuple[float, float]:
    """Find the bounds of the largest group of offsets within a width; of equals, the nearest to 0.

    Parameters: at least one offset, in cents.
    Returns the lowest and the highest offset of the group.

    >>> find_largest_group([10.0, 0.0, -700.0, 40.0])
    (0.0, 40.0)
    """
    rising = sorted(offsets_cents)
    best: tuple[tuple[int, float, float], tuple[float, float]] | None = None
    last = 0
    for first, low in enumerate(rising):
        while last < len(rising) and rising[last] - low <= width_cents:
            last += 1
        group = rising[first:last]
        rank = (-len(group), abs(median(group)), group[0])
        if best is None or rank < best[0]:
            best = rank, (group[0], group[-1])
    assert best is not None
    return best[1]


def _judge_alone(reading: TakeReading) -> TakeStanding:
    if reading.offset_cents is None:
        return TakeStanding.NO_PITCH
    if reading.is_spoilt and not reading.is_confirmed:
        return TakeStanding.LOST_SOUND
    return TakeStanding.COUNTS


def _compare_few(
    readings: Sequence[TakeReading], offsets: Offsets, expectation: Expectation | None
) -> Standings:
    """Compare too few takes to trust their number with the note and the untaught tube."""
    set_aside: Standings = {}
    for place, cents in offsets.items():
        if abs(cents) <= GROUP_CENTS or readings[place].is_confirmed:
            continue
        if abs(cents) > FARTHEST_CENTS:
            set_aside[place] = TakeStanding.WAITS
        elif expectation is None or not expectation.is_sure:
            continue  # it counts where it sounds, and the page asks
        elif abs(cents - expectation.offset_cents) > GROUP_CENTS:
            set_aside[place] = TakeStanding.UNEXPECTED
    return set_aside


def _leave_largest_group(
    readings: Sequence[TakeReading], group: Offsets, factor: float
) -> Standings:
    del readings, factor
    if not group:
        return {}
    low, high = find_largest_group(list(group.values()))
    outside = (place for place, cents in group.items() if not low <= cents <= high)
    return dict.fromkeys(outside, TakeStanding.OTHER_GROUP)


def _reject_outliers(readings: Sequence[TakeReading], group: Offsets, factor: float) -> Standings:
    cells: defaultdict[Hashable, Offsets] = defaultdict(dict)
    for place, cents in group.items():
        cells[readings[place].cell][place] = cents
    set_aside: Standings = {}
    for cell in cells.values():
        low, high = find_largest_group(list(cell.values()), SCATTER_CENTS)
        core = [cents for cents in cell.values() if low <= cents <= high]
        if len(core) < FEWEST_AGREEING:
            continue
        middle = median(core)
        scale = find_scale([cents - middle for cents in core])
        limit_cents = max(SCATTER_CENTS * factor, SCATTER_DEVIATIONS * scale)
        for place, cents in cell.items():
            beside = sum(abs(each - cents) <= SCATTER_CENTS for each in cell.values())
            is_alone = abs(cents - middle) > limit_cents and beside < len(core)
            if is_alone and not readings[place].is_confirmed:
                set_aside[place] = TakeStanding.SCATTERED
    return set_aside


def _leave_unwatched(readings: Sequence[TakeReading], group: Offsets, factor: float) -> Standings:
    del factor
    if all(readings[place].is_watched for place in group):
        return {}
    watched = (
        place for place in group if readings[place].is_watched and not readings[place].is_confirmed
    )
    return dict.fromkeys(watched, TakeStanding.WATCHED)
