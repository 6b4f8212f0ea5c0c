"""Two-note loops: rate, evenness and transition times of a slur back and forth.

- Rate: changes a second, one over the mean time from a change to the next.
- Evenness: the normalised pairwise variability index of those times (Grabe & Low, "Durational
  variability in speech and the rhythm class hypothesis", 2002; from memory), the mean of
  |d1 - d2| / ((d1 + d2) / 2) over neighbours, in percent: 0 for a clock, and an accelerando is no
  unevenness.
- Transition time, for each direction: the median time from leaving one pitch to arriving at the
  other, less what the analysis window adds (`window_width`).

A break of the loop ends a series and begins another; no time is counted across it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median

import numpy as np

from analysis.performance.errors import NoLoop
from analysis.performance.loop_changes import (
    NoteChange,
    are_steady,
    find_changes,
    find_heard,
    find_two_notes,
    find_visits,
    trace_loop,
)
from analysis.performance.window_width import WindowWidth, measure_window_width
from analysis.recording.samples import Samples, is_readable

LOOP_METHOD_VERSION = "loop-1"
FEWEST_CHANGES = 6
FEWEST_OF_A_DIRECTION = 3
LEAST_INTERVAL_CENTS = 30.0
ROUNDING_CENTS = 0.5
MAD_TO_SIGMA = 1.4826
NOTHING_HEARD = "Nothing is heard. Slur back and forth between both notes."
MEDIAN_TO_MEAN = 1.2533  # how much less sure a median is than a mean, of normal values
WINDOW_SIGMA_S = 0.004  # what abrupt changes of made sounds still came out as
EVEN_BELOW, FAIRLY_EVEN_BELOW = 12.0, 25.0  # judgement


@dataclass(frozen=True, slots=True)
class TransitionTime:
    """How long the change takes in one direction, with one standard deviation, in seconds.

    `count` is how many changes stand behind it.
    """

    seconds: float
    uncertainty_s: float
    count: int


@dataclass(frozen=True, slots=True)
class MeasuredLoop:
    """A slur back and forth between two notes.

    Attributes:
        changes_s: the middle of each change, seconds from the start, rising.
        rate_hz: changes a second.
        unevenness: normalised pairwise variability index in percent.
        up: from the lower to the upper note; None where the notes are too short, or too unsteady,
            to tell.
        down: the other way.
        lower_cents: how far the lower note sounded from where it was expected.
        upper_cents: the same of the upper note.
        break_count: how often the loop was broken off.
        silent_count: how often the sound broke off within a change.
        other_count: how often another note was heard within a change.
    """

    changes_s: tuple[float, ...]
    rate_hz: float
    unevenness: float
    up: TransitionTime | None
    down: TransitionTime | None
    lower_cents: float
    upper_cents: float
    break_count: int
    silent_count: int
    other_count: int

    @property
    def change_count(self) -> int:
        """How many changes it has, without those where it was broken off."""
        return len(self.changes_s)


def measure_loop(
    samples: Samples, sample_rate_hz: float, *, lower_hz: float, upper_hz: float
) -> MeasuredLoop:
    """Measure a slur back and forth between two notes.

    Args:
        samples: shape (n,), full scale -1 to 1.
        sample_rate_hz: 8,000 to 192,000.
        lower_hz: where the lower note is known, or expected, to sound.
        upper_hz: the same of the upper note.

    Raises:
        NoLoop: what is heard is no loop of these two notes; the sentence says what it is.

    Limits: notes 30 cents apart and more, each within 70 cents of where it was expected. Measured
    on made sounds: from 130 Hz up to 12 changes a second; at 65 Hz the times of the transition can
    be told up to 10. A slide counts as arrived within a fifth of the interval, so that one that
    takes 60 ms evenly measures some 30. Vibrato wider than a quarter of the interval hides them.

    >>> time_s = np.arange(5 * 8_000) / 8_000
    >>> is_upper = (time_s * 4).astype(int) % 2
    >>> turns = np.cumsum(np.where(is_upper, 466.16, 440.0)) / 8_000
    >>> loop = measure_loop(0.1 * np.sin(2 * np.pi * turns), 8_000, lower_hz=440.0, upper_hz=466.16)
    >>> loop.change_count, round(loop.rate_hz, 1), round(loop.unevenness)
    (19, 4.0, 0)
    """
    samples = np.asarray(samples)
    interval_cents = _check(samples, sample_rate_hz, lower_hz, upper_hz)
    if samples.dtype.itemsize < 4:
        samples = samples.astype(np.float32)
    loop = trace_loop(samples, sample_rate_hz, lower_hz)
    if not loop.cents.size or not (is_heard := find_heard(loop.contour.level)).any():
        raise NoLoop(NOTHING_HEARD)
    notes = find_two_notes(loop.cents, is_heard, interval_cents)
    visits = find_visits(notes, np.where(is_heard, loop.cents, np.nan))
    every = find_changes(notes, loop, visits)
    changes = [each for each in every if not each.is_break]
    sides = [sum(each.is_up == is_up for each in changes) for is_up in (True, False)]
    if len(changes) < FEWEST_CHANGES or min(sides) < FEWEST_OF_A_DIRECTION:
        raise NoLoop(
            f"The note changes {len(changes)} times; slur back and forth at least "
            f"{FEWEST_CHANGES // 2} times, {FEWEST_CHANGES} changes."
        )
    steps = _find_steps(every)
    width = None
    if are_steady(notes, loop.cents, visits):
        found = notes, loop, visits
        width = measure_window_width(samples, sample_rate_hz, lower_hz, found)
    return MeasuredLoop(
        changes_s=tuple(round(each.middle_s, 4) for each in changes),
        rate_hz=round(1 / fmean(step for series in steps for step in series), 3),
        unevenness=round(find_pairwise_variability(steps), 1),
        up=_find_time(changes, width, is_up=True),
        down=_find_time(changes, width, is_up=False),
        lower_cents=round(notes.lower_cents, 1),
        upper_cents=round(notes.upper_cents - interval_cents, 1),
        break_count=len(every) - len(changes),
        silent_count=sum(each.is_silent for each in changes),
        other_count=sum(each.is_other for each in changes),
    )


def _check(samples: Samples, sample_rate_hz: float, lower_hz: float, upper_hz: float) -> float:
    """Return the interval in cents; raise `NoLoop` where nothing can be measured."""
    interval_cents = 1200 * float(np.log2(upper_hz / lower_hz))
    if interval_cents < LEAST_INTERVAL_CENTS - ROUNDING_CENTS:
        raise NoLoop(
            f"These two notes lie {interval_cents:.0f} cents apart; a loop can be measured from "
            f"{LEAST_INTERVAL_CENTS:.0f} cents."
        )
    if not is_readable(samples, sample_rate_hz):
        raise NoLoop(NOTHING_HEARD)
    return interval_cents


def find_pairwise_variability(steps_s: Sequence[Sequence[float]]) -> float:
    """Find the normalised pairwise variability index in percent of series of times in seconds.

    >>> find_pairwise_variability([[0.2, 0.2, 0.2], [0.1, 0.3]])
    33.33333333333333
    """
    shares = [
        abs(one - two) / (0.5 * (one + two)) for series in steps_s for one, two in pairwise(series)
    ]
    return 100.0 * fmean(shares) if shares else 0.0


def describe_evenness(unevenness: float) -> str:
    """Say how even a loop is, by its variability index in percent.

    >>> describe_evenness(8.0)
    'even'
    """
    if unevenness < EVEN_BELOW:
        return "even"
    return "fairly even" if unevenness < FAIRLY_EVEN_BELOW else "uneven"


def _find_steps(every: Sequence[NoteChange]) -> list[list[float]]:
    """Return the times from each change to the next, as one series between breaks; at least one.

    Raises:
        NoLoop: there is a break on either side of every change.
    """
    series: list[list[float]] = [[]]
    for one, two in pairwise(every):
        if one.is_break or two.is_break:
            series.append([])
        else:
            series[-1].append(two.middle_s - one.middle_s)
    if not any(series):
        raise NoLoop("Every change stands alone. Slur back and forth without a rest between.")
    return [each for each in series if each]


def _find_time(
    changes: Sequence[NoteChange], width: WindowWidth | None, *, is_up: bool
) -> TransitionTime | None:
    if width is None:
        return None
    lengths = [each.length_s for each in changes if each.is_up == is_up]
    middle = median(lengths)
    spread = MAD_TO_SIGMA * median(abs(each - middle) for each in lengths)
    own = MEDIAN_TO_MEAN * spread / np.sqrt(len(lengths))
    uncertainty = float(np.sqrt(own**2 + width.uncertainty_s**2 + WINDOW_SIGMA_S**2))
    seconds = max(0.0, middle - width.of(is_up=is_up))
    return TransitionTime(round(seconds, 4), round(uncertainty, 4), len(lengths))
