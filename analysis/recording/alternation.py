"""Alternation of two pitches by two-means clustering of the contour: trill and tremolo.

The rows of a pitch contour (`pitch_contour`, windows of 32 ms) fall into two clusters (k-means with
two means, Lloyd's algorithm; from memory), and the pitch goes from one to the other and back at an
even pace. Which cluster holds the pitch is decided with hysteresis, so that a pitch on its way
counts once. A wave that is wider than 100 cents from cluster to cluster is no vibrato; a narrower
one must stand at its ends, as a square wave does and a sinusoid does not: the mean distance from
the middle is 0.64 of the largest in a sinusoid and 1 in a square wave, and within an eighth of the
interval from its two medians a sinusoid is a third of the time.

That trills alternate 3 to 12 times a second is common practice (from memory).

Limits: notes of 75 Hz and more, 42 cents apart and more, four changes or more, which fill half of
the sound; some 12 alternations a second.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.measurement import Alternation
from analysis.recording.pitch_contour import HOP_S, Contour

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]

FRAME_S = 0.032  # of the contour: half of the quickest note
LOWEST_HZ = 130.0  # below it the usual windows of the contour must do
LOUD_SHARE = 10 ** (-25 / 20)
LEAST_CLEAR = 0.7
LEAST_APART_CENTS = 42.0
SURE_APART_CENTS = 100.0
SQUARE = 0.72
AT_ENDS_REACH, AT_ENDS_SHARE = 0.12, 0.5
HYSTERESIS = 0.15  # of the interval, on either side of its middle
NEAR_SHARE = 0.3  # of the interval, within limits
NEAR_CENTS = (25.0, 70.0)
LEAST_NEAR = 0.55
MOST_SCATTER_CENTS = 30.0  # median distance from the note's own median
RATES_HZ = (2.5, 12.5)
LEAST_CHANGES = 4
LEAST_FILLED = 0.5
MOST_UNEVEN = 0.4  # standard deviation of a period over its mean
MEANS_STEPS = 12


def find_alternation(contour: Contour) -> Alternation | None:
    """The two pitches that a sound alternates between, and how often; None where it does not."""
    cents = _read_loud_cents(contour)
    if cents is None:
        return None
    low, high = _find_two_means(cents)
    apart = high - low
    if apart < LEAST_APART_CENTS:
        return None
    is_high = _label(cents, low, high)
    changes = np.flatnonzero(np.diff(is_high.astype(np.int8)))
    if len(changes) < LEAST_CHANGES or not _is_even(changes, len(cents)):
        return None
    rate_hz = 0.5 * (len(changes) - 1) / ((changes[-1] - changes[0]) * HOP_S)
    inside = slice(int(changes[0]), int(changes[-1]) + 1)
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1] or not does_stand(cents[inside], low, high):
        return None
    sides = [cents[inside][is_high[inside] == at] for at in (False, True)]
    one, other = (float(np.median(side)) for side in sides)
    if max(np.median(np.abs(side - np.median(side))) for side in sides) > MOST_SCATTER_CENTS:
        return None
    return Alternation(
        rate_hz=round(float(rate_hz), 2),
        low_hz=round(440.0 * 2 ** (one / 1200), 2),
        high_hz=round(440.0 * 2 ** (other / 1200), 2),
    )


def _read_loud_cents(contour: Contour) -> Floats | None:
    """Pitch of the loud rows in cents from A4, those without one filled, single odd ones out."""
    if not contour.level.size:
        return None
    loud = np.flatnonzero(contour.level > LOUD_SHARE * np.quantile(contour.level, 0.9))
    if not loud.size:
        return None
    cents = 1200 * np.log2(contour.f0_hz[loud[0] : loud[-1] + 1] / 440.0)
    known = np.flatnonzero(np.isfinite(cents))
    if known.size < max(2 * LEAST_CHANGES, LEAST_CLEAR * len(cents)):
        return None
    # the nearest known row, not a line between two: a line would stand in the middle
    after = np.clip(np.searchsorted(known, np.arange(len(cents))), 1, len(known) - 1)
    is_before = np.arange(len(cents)) - known[after - 1] < known[after] - np.arange(len(cents))
    filled = cents[np.where(is_before, known[after - 1], known[after])]
    padded = np.pad(filled, 1, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 3), axis=1))


def _find_two_means(cents: Floats) -> tuple[float, float]:
    low, high = (float(each) for each in np.percentile(cents, (15, 85)))
    for _ in range(MEANS_STEPS):
        is_high = cents > 0.5 * (low + high)
        if is_high.all() or not is_high.any():
            break
        low, high = float(np.median(cents[~is_high])), float(np.median(cents[is_high]))
    return low, high


def _label(cents: Floats, low: float, high: float) -> Bools:
    """Which rows hold the high note; a row between the two holds what was before it."""
    share = (cents - low) / (high - low)
    told = np.where(share > 0.5 + HYSTERESIS, 1, np.where(share < 0.5 - HYSTERESIS, 0, -1))
    last = np.maximum.accumulate(np.where(told >= 0, np.arange(len(told)), 0))
    return np.asarray(told[last] == 1)


def _is_even(changes: NDArray[np.intp], count: int) -> bool:
    """Whether whole periods are about as long as each other, and fill half of the sound."""
    periods = (changes[2:] - changes[:-2]).astype(np.float64)
    usual = float(np.median(periods))
    even = periods[(periods > 0.4 * usual) & (periods < 2.5 * usual)]
    is_filled = changes[-1] - changes[0] + usual >= LEAST_FILLED * count
    return bool(
        is_filled and len(even) >= 0.7 * len(periods) and even.std() <= MOST_UNEVEN * even.mean()
    )


def does_stand(cents: Floats, low: float, high: float) -> bool:
    """Whether a pitch stands on two notes most of the time, and does not swing as a wave.

    `cents` of shape (n,) and the two notes count from the same pitch; every row has one.
    """
    reach = float(np.clip(NEAR_SHARE * (high - low), *NEAR_CENTS))
    from_nearest = np.minimum(np.abs(cents - low), np.abs(cents - high))
    if np.mean(from_nearest <= reach) < LEAST_NEAR:
        return False
    from_middle = np.abs(cents - 0.5 * (low + high))
    squareness = float(from_middle.mean() / np.percentile(from_middle, 95))
    at_ends = float(np.mean(from_nearest <= AT_ENDS_REACH * (high - low)))
    is_square = squareness >= SQUARE or at_ends >= AT_ENDS_SHARE
    return high - low >= SURE_APART_CENTS or is_square
