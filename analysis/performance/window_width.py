"""Width of the analysis window in transition times, measured on abrupt changes made of the sound.

A window that hears both notes stands on neither for some of its length: how much depends on the
interval, the register, the colour and the noise. So sound from the middle of one note is joined to
sound from the middle of the other, which changes within one sample, and goes through the same
windows. What they make of it is what they add to every change of the recording.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.performance.loop_changes import LoopContour, TwoNotes, Visit, trace_loop
from analysis.recording.samples import Samples

Floats = NDArray[np.floating[Any]]

JOINED_AT_MOST = 9
MARGIN_SHARE = 0.3  # of a window, at either end of a note: it may still hear the other


@dataclass(frozen=True, slots=True)
class WindowWidth:
    """Time the window adds to a change up and down, and its uncertainty (one sigma), in seconds."""

    up_s: float
    down_s: float
    uncertainty_s: float

    def of(self, *, is_up: bool) -> float:
        """Return what they add in one direction."""
        return self.up_s if is_up else self.down_s


def measure_window_width(
    samples: Samples,
    sample_rate_hz: float,
    lower_hz: float,
    found: tuple[TwoNotes, LoopContour, Sequence[Visit]],
) -> WindowWidth | None:
    """Measure what the windows add to a change of a loop; None where its notes are too short.

    `samples` of shape (n,), full scale -1 to 1; `lower_hz` is what the contour counts from.
    """
    notes, loop, visits = found
    parts: dict[bool, list[Samples]] = {False: [], True: []}
    margin_s, size = MARGIN_SHARE * loop.frame_s, int(1.1 * loop.frame_s * sample_rate_hz)
    for visit in sorted(visits, key=lambda each: each.first - each.last):
        from_s = loop.contour.times_s[visit.first] + margin_s
        to_s = loop.contour.times_s[visit.last] - margin_s
        first = int(0.5 * (from_s + to_s) * sample_rate_hz) - size // 2
        is_long = (to_s - from_s) * sample_rate_hz >= size
        if is_long and len(parts[visit.is_upper]) < JOINED_AT_MOST:
            parts[visit.is_upper].append(samples[first : first + size])
    widths = {
        is_up: [
            width
            for before, after in zip(parts[not is_up], parts[is_up], strict=False)
            if (width := _measure_one(before, after, sample_rate_hz, lower_hz, notes, is_up=is_up))
            is not None
        ]
        for is_up in (False, True)
    }
    if min(map(len, widths.values())) < 2:
        return None
    spread = max(float(np.std(each)) / np.sqrt(len(each)) for each in widths.values())
    return WindowWidth(median(widths[True]), median(widths[False]), spread)


def _measure_one(
    before: Samples,
    after: Samples,
    sample_rate_hz: float,
    lower_hz: float,
    notes: TwoNotes,
    *,
    is_up: bool,
) -> float | None:
    joined = trace_loop(np.concatenate((before, after)), sample_rate_hz, lower_hz)
    on_lower, on_upper = notes.find_standing(joined.cents)
    leaving, arriving = (on_lower, on_upper) if is_up else (on_upper, on_lower)
    if not leaving.any():
        return None
    last = int(np.flatnonzero(leaving)[-1])
    later = np.flatnonzero(arriving[last:])
    if not later.size:
        return None
    return float(joined.contour.times_s[last + int(later[0])] - joined.contour.times_s[last])
