"""Segmentation of trills and tremolos in a long recording: stretches where the pitch never rests.

A pitch rests where it stays within 36 cents for 0.28 s, longer than either note of a trill is held.
What is heard between rests, for 0.4 s and more, is asked whether two pitches alternate in it
(`alternation`, by shorter windows). So a trill is one span from its first note to its last, with
either of these held for up to 0.35 s; what is held longer before it and after it, slurred or not,
is left to the notes.

Limits: those of `alternation`; a run slurred into a trill hides it, since the whole of both does
not alternate.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.pitch_contour import FRAME_S, HOP_S, Contour
from analysis.recording.samples import Samples
from analysis.recording.speech import find_stretches
from analysis.recording.techniques import name_alternation

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]

REST_ROWS = 28
REST_CENTS = 36.0
ODD_ROWS = 2  # of a rest, on either side: an octave mistaken for a moment
LONGEST_GAP = 6  # rows: what separates the notes of a trill separates no sounds
SHORTEST_S = 0.4
LONGEST_END_S = 0.35


def find_alternating_spans(
    samples: Samples, sample_rate_hz: float, contour: Contour, is_heard: Bools
) -> list[tuple[int, int]]:
    """Rows of each trill and tremolo: first, and one past the last, in order of time.

    `samples` of shape (n,), full scale -1 to 1, with their contour; `is_heard` of the shape of its
    rows.
    """
    is_sounding = _close_gaps(is_heard)
    return [
        _take_ends_in((first, last), (start, end))
        for start, end in find_stretches(is_sounding)
        for first, last in _find_restless(contour.f0_hz[start:end], start)
        if _do_alternate(samples, sample_rate_hz, contour, (first, last))
    ]


def _take_ends_in(rows: tuple[int, int], sounding: tuple[int, int]) -> tuple[int, int]:
    """A span with its first and last note where these rest a moment and nothing lies beyond."""
    first, last = rows
    start, end = sounding
    longest = LONGEST_END_S / HOP_S
    return (
        start if first - start <= longest else first,
        end if end - last <= longest else last,
    )


def _close_gaps(is_heard: Bools) -> Bools:
    closed = is_heard.copy()
    for first, last in find_stretches(~is_heard):
        if first > 0 and last < len(closed) and last - first <= LONGEST_GAP:
            closed[first:last] = True
    return closed


def _find_restless(f0_hz: Floats, start: int) -> list[tuple[int, int]]:
    """Rows, counted on from `start`, of stretches in which the pitch does not rest."""
    if len(f0_hz) * HOP_S < SHORTEST_S:
        return []
    rests = np.zeros(len(f0_hz), dtype=bool)
    cents = np.sort(
        np.lib.stride_tricks.sliding_window_view(1200 * np.log2(f0_hz), REST_ROWS), axis=1
    )  # what has no pitch comes last, and makes no rest
    with np.errstate(invalid="ignore"):
        is_rest = cents[:, -1 - ODD_ROWS] - cents[:, ODD_ROWS] <= REST_CENTS
    for at in np.flatnonzero(is_rest):
        rests[at : at + REST_ROWS] = True
    return [
        (start + first, start + last)
        for first, last in find_stretches(~rests)
        if (last - first) * HOP_S >= SHORTEST_S
    ]


def _do_alternate(
    samples: Samples, sample_rate_hz: float, contour: Contour, rows: tuple[int, int]
) -> bool:
    part = contour.cut(*rows)
    from_s, to_s = part.times_s[0] - FRAME_S / 2, part.times_s[-1] + FRAME_S / 2
    stretch = samples[max(0, int(from_s * sample_rate_hz)) : int(to_s * sample_rate_hz)]
    return name_alternation(stretch, sample_rate_hz, part) is not None
