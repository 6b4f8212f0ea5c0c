"""Glissando detection on the pitch contour: a pitch that is on its way most of the time.

The longest stretch of clear pitch must fill most of the sound and run without a leap. It is a bend
or a glissando when it spans more than 100 cents, goes there on few ways (its path is at most four
times its span) and most of that path lies in slides that last: a slurred scale makes its way in
steps that are over in a moment (the window of the contour smears them over some 70 ms), with the
pitch at rest between.

Limits: a slide of less than 0.7 s in the range of voices is a syllable to `speech` as well; a
chromatic scale of more than ten notes a second is taken for a glissando.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.pitch_contour import HOP_S, Contour
from analysis.recording.speech import LEVEL_SHARE, find_stretches

Floats = NDArray[np.floating[Any]]

LEAST_S = 0.3
LEAST_FILLED = 0.7
LEAST_SPAN_CENTS = 100.0
MOST_DETOUR = 4.0
LEAP_CENTS = 70.0  # from row to row
SHORTEST_GAP = 4  # rows
REACH = 2
SLOW_SHARE = 0.25  # of the mean speed: below it the pitch rests
LEAST_SLIDE_S = 0.16
LEAST_SLIDING = 0.7


def find_slide_s(contour: Contour) -> float:
    """How long the pitch of a bend or glissando is followed, in seconds; 0 where it is none."""
    stretch = _find_longest_stretch(contour)
    if stretch is None:
        return 0.0
    padded = np.pad(stretch, 2, mode="edge")
    cents = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    low, high = np.percentile(cents, (3, 97))
    steps = np.abs(np.diff(cents))
    if high - low < LEAST_SPAN_CENTS or steps.max() > LEAP_CENTS:
        return 0.0
    if steps.sum() > MOST_DETOUR * (high - low):
        return 0.0
    speed = np.abs(cents[2 * REACH :] - cents[: -2 * REACH]) / (2 * REACH)
    is_moving = speed > SLOW_SHARE * speed.mean()
    sliding = sum(
        float(speed[first:last].sum())
        for first, last in find_stretches(is_moving)
        if (last - first) * HOP_S >= LEAST_SLIDE_S
    )
    return len(cents) * HOP_S if sliding >= LEAST_SLIDING * float(speed.sum()) else 0.0


def _find_longest_stretch(contour: Contour) -> Floats | None:
    """The longest stretch of clear pitch in cents, if it fills most of the sound."""
    if not contour.level.size:
        return None
    is_loud = contour.level > LEVEL_SHARE * np.quantile(contour.level, 0.95)
    is_clear = np.isfinite(contour.f0_hz) & is_loud
    for first, last in find_stretches(~is_clear):
        if first > 0 and last < len(is_clear) and last - first < SHORTEST_GAP:
            is_clear[first:last] = True
    stretches = find_stretches(is_clear)
    if not stretches:
        return None
    first, last = max(stretches, key=lambda each: each[1] - each[0])
    if (last - first) * HOP_S < LEAST_S or last - first < LEAST_FILLED * np.count_nonzero(is_loud):
        return None
    cents = 1200 * np.log2(contour.f0_hz[first:last] / 440.0)
    known = np.flatnonzero(np.isfinite(cents))
    return np.asarray(np.interp(np.arange(len(cents)), known, cents[known]))
