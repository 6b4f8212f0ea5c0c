"""Note segmentation of a long recording: change points of pitch and gaps in level make takes.

On the contour (pitch and level each 10 ms, `pitch_contour`) a note is a stretch of sound of one
pitch. It ends where the sound stops for 30 ms; where the level dips by 9 dB and comes back, as
between tongued notes in a room; and where the pitch steps by 35 cents, as between slurred notes.
Steps are change points, where the medians of the 0.14 s before and after differ most; of these the
weakest are taken back, one after another, as long as joining the notes on both sides costs little
(the sum of absolute deviations from their medians; bottom-up segmentation): so vibrato and a slow
bend make no steps. Notes of less than 0.18 s, and talk (`speech`), are left out.

Trills and tremolos are looked for first, each one span (`alternating_spans`). Loud stretches
without one pitch are kept when several notes sound together in them (`multiphonic`).

Limits: dips of less than 9 dB (a soft tongue in a live room) don't part notes of one pitch. Where
two notes are slurred, the boundary is good to some 20 ms, and `measure_take` takes off more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.recording.alternating_spans import find_alternating_spans
from analysis.recording.coarse_pitch import make_coarse_frames
from analysis.recording.measurement import TakeMeasurement
from analysis.recording.multiphonic import find_components
from analysis.recording.pitch_contour import HOP_S, Contour, trace_contour
from analysis.recording.samples import SILENCE_RMS, Samples, is_readable
from analysis.recording.spectral_change import find_longest_run
from analysis.recording.speech import LONGEST_SYLLABLE_S, find_speech, find_stretches
from analysis.recording.take import measure_take

Floats = NDArray[np.floating[Any]]
Bools = NDArray[np.bool_]
Progress = Callable[[float], None]

AUDIBLE_SHARE = 10 ** (-40 / 20)
LOUD_SHARE = 10 ** (-20 / 20)
RELEASE_SHARE = 10 ** (-26 / 20)
SHORTEST_GAP = 3  # rows
DIP_SHARE = 10 ** (-9 / 20)
DIP_REACH = 15
STEP_CENTS = 35.0
STEP_ROWS = 14
STEP_GUARD = 2
JOINING_COST = 500.0  # cents times rows: a quarter tone over 0.1 s
SHORTEST_PART = 12
SHORTEST_UNCLEAR_S = 0.4
SHORTEST_NOTE_S = 0.22  # as the contour shows it: its windows make 0.18 s some 0.05 s longer
LONGEST_RINGING_S = 0.35
MARGIN_S = 0.05
TALK_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class TakeSpan:
    """Where one note lies: from its onset to the end of its release, in seconds.

    `steady_from_s` to `steady_to_s` is where its pitch stands; `f0_hz` is a first idea of that
    pitch, None where several notes sound together or by turns.
    """

    from_s: float
    to_s: float
    steady_from_s: float
    steady_to_s: float
    f0_hz: float | None


@dataclass(frozen=True, slots=True)
class MeasuredSpan:
    """A span with its measurement, whose times count from the start of the span."""

    span: TakeSpan
    measurement: TakeMeasurement


def split_takes(
    samples: NDArray[np.floating[Any]],
    sample_rate_hz: float,
    *,
    progress: Progress | None = None,
) -> tuple[TakeSpan, ...]:
    """Find the notes in a long recording, in order of time.

    Parameters: `samples` of shape (n,), float, full scale -1 to 1; `sample_rate_hz` from 8,000 to
    192,000; `progress` is called with the share done, 0 to 1.

    Returns the spans; none overlap. Empty when nothing is held, or when the samples are not
    readable (as for `measure_take`).

    Limits: notes of 48 to 2600 Hz of 0.18 s and more, within 40 dB of the loudest; more in the
    module. Ten minutes take a few seconds; memory beside the samples stays below 60 MB.

    Source: our own, see the module.

    >>> import numpy as np
    >>> time_s = np.arange(16_000) / 8_000
    >>> tone = 0.1 * np.sin(2 * np.pi * np.where(time_s < 1.0, 440.0, 470.0) * time_s)
    >>> [round(span.f0_hz) for span in split_takes(tone, 8_000)]
    [440, 470]
    """
    samples = np.asarray(samples)
    if not is_readable(samples, sample_rate_hz):
        return ()
    if samples.dtype.itemsize < 4:
        samples = samples.astype(np.float32)
    contour = trace_contour(samples, sample_rate_hz, progress=progress)
    if not contour.level.size:
        return ()
    loudest = float(np.quantile(contour.level, 0.99))
    is_heard = contour.level > max(SILENCE_RMS, AUDIBLE_SHARE * loudest)
    is_talk = find_speech(contour)
    is_heard[_find_dips(contour.level)] = False
    alternating = find_alternating_spans(samples, sample_rate_hz, contour, is_heard)
    for first, last in alternating:
        is_heard[first:last] = False
    notes = [note for note in _find_notes(contour, is_heard) if not _is_talk(is_talk, note)]
    notes = [
        note
        for note, before in zip(notes, [None, *notes], strict=False)
        if before is None or not _rings_on(contour, note, before)
    ]
    unclear = _find_unclear(contour, is_heard & ~is_talk, notes)
    several = [
        part
        for part in (*notes, *unclear)
        if _has_components(samples, sample_rate_hz, contour.times_s, part)
    ]
    single = [note for note in notes if note not in several]
    whole = _widen(several, is_heard & ~is_talk, single)
    return tuple(_place(contour, sorted([*single, *whole, *alternating]), frozenset(alternating)))


def measure_spans(
    samples: NDArray[np.floating[Any]],
    sample_rate_hz: float,
    spans: Sequence[TakeSpan],
    *,
    expected_f0_hz: float | None = None,
    progress: Progress | None = None,
) -> tuple[MeasuredSpan, ...]:
    """Measure each span as a take of its own.

    `samples` of shape (n,) and `sample_rate_hz` as for `split_takes`; `expected_f0_hz` as for
    `measure_take`; `progress` is told the share done, 0 to 1.
    """
    measured = []
    for number, span in enumerate(spans, start=1):
        take = measure_take(
            cut_span(samples, sample_rate_hz, span), sample_rate_hz, expected_f0_hz=expected_f0_hz
        )
        measured.append(MeasuredSpan(span, take))
        if progress is not None:
            progress(number / len(spans))
    return tuple(measured)


def cut_span(
    samples: NDArray[np.floating[Any]], sample_rate_hz: float, span: TakeSpan
) -> NDArray[np.floating[Any]]:
    """The samples of one span, as a view; `samples` of shape (n,)."""
    return samples[round(span.from_s * sample_rate_hz) : round(span.to_s * sample_rate_hz)]


def _find_notes(contour: Contour, is_heard: Bools) -> Iterator[tuple[int, int]]:
    """Rows of each note: first, and one past the last."""
    cents = 1200 * np.log2(contour.f0_hz / 440.0)
    is_tone = _fill_short_gaps(is_heard & np.isfinite(cents), is_heard)
    for first, last in find_stretches(is_tone):
        for start, end in _cut_at_steps(_interpolate(cents[first:last])):
            if (end - start) * HOP_S >= SHORTEST_NOTE_S:
                yield first + start, first + end


def _fill_short_gaps(is_on: Bools, is_heard: Bools) -> Bools:
    """Rows that have no clear pitch for a moment, though they are heard, don't end a note.

    They lie beside a row that has one: a click alone has none, and is no note.
    """
    filled = is_on.copy()
    beside = np.pad(is_on, 1)
    for first, last in find_stretches(~is_on & is_heard):
        if last - first < SHORTEST_GAP and (beside[first] or beside[last + 1]):
            filled[first:last] = True
    return filled


def _find_dips(level: Floats) -> NDArray[np.intp]:
    """Rows where the level is lowest for a moment, 9 dB under what was and what comes."""
    padded = np.pad(level, DIP_REACH, mode="edge")
    around = np.lib.stride_tricks.sliding_window_view(padded, DIP_REACH + 1)
    before, after = around[: len(level)].max(axis=1), around[DIP_REACH:].max(axis=1)
    lowest = np.lib.stride_tricks.sliding_window_view(np.pad(level, 3, mode="edge"), 7).min(axis=1)
    is_deep = level < DIP_SHARE * np.minimum(before, after)
    return np.flatnonzero(is_deep & (level <= lowest))


def _interpolate(cents: Floats) -> Floats:
    """Missing rows filled (the ends are not missing), single odd ones taken out."""
    known = np.flatnonzero(np.isfinite(cents))
    whole = np.interp(np.arange(len(cents)), known, cents[known])
    padded = np.pad(whole, 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1))


def _cut_at_steps(cents: Floats) -> list[tuple[int, int]]:
    """Parts of a stretch in which the pitch stays; parts too short for a note are dropped."""
    edges = _join_cheapest(cents, [0, *_find_steps(cents), len(cents)])
    parts = [(a, b) for a, b in pairwise(edges) if b - a >= SHORTEST_PART]
    joined: list[tuple[int, int]] = []
    for part in parts:  # what stood between two parts of one pitch was a slip
        if joined and _is_same_pitch(cents, joined[-1], part):
            joined[-1] = (joined[-1][0], part[1])
        else:
            joined.append(part)
    return joined


def _join_cheapest(cents: Floats, edges: list[int]) -> list[int]:
    """Edges left when neighbouring parts have been joined, the cheapest first."""
    costs = [_price_joining(cents, *edges[at : at + 3]) for at in range(len(edges) - 2)]
    while costs:
        cheapest = int(np.argmin(costs))
        if costs[cheapest] > JOINING_COST:
            break
        del edges[cheapest + 1], costs[cheapest]
        for at in (cheapest - 1, cheapest):  # only these two now have another neighbour
            if 0 <= at < len(costs):
                costs[at] = _price_joining(cents, *edges[at : at + 3])
    return edges


def _find_steps(cents: Floats) -> list[int]:
    """Rows at which the pitch before and after differs most, and by 35 cents at least."""
    reach = STEP_ROWS + STEP_GUARD
    padded = np.pad(cents, reach, mode="edge")
    medians = np.median(np.lib.stride_tricks.sliding_window_view(padded, STEP_ROWS), axis=1)
    before, after = medians[: len(cents)], medians[reach + STEP_GUARD :][: len(cents)]
    step = np.abs(after - before)
    highest = np.lib.stride_tricks.sliding_window_view(np.pad(step, 5), 11).max(axis=1)
    at = np.flatnonzero((step >= STEP_CENTS) & (step >= highest))
    # a plateau of equal steps is one step: its middle
    groups = np.split(at, np.flatnonzero(np.diff(at) > 5) + 1) if at.size else []
    return [int(group[len(group) // 2]) for group in groups]


def _price_joining(cents: Floats, start: int, middle: int, end: int) -> float:
    """What it costs to call two neighbouring parts one."""
    apart = _deviate(cents[start:middle]) + _deviate(cents[middle:end])
    return _deviate(cents[start:end]) - apart


def _deviate(cents: Floats) -> float:
    return float(np.abs(cents - np.median(cents)).sum()) if cents.size else 0.0


def _is_same_pitch(cents: Floats, one: tuple[int, int], other: tuple[int, int]) -> bool:
    apart = np.median(cents[slice(*one)]) - np.median(cents[slice(*other)])
    return bool(abs(apart) < STEP_CENTS)


def _is_talk(is_talk: Bools, note: tuple[int, int]) -> bool:
    """Whether a note is short and amid talk; a long one is played, whatever is said before it."""
    first, last = note
    is_short = (last - first) * HOP_S < LONGEST_SYLLABLE_S
    return bool(is_short and is_talk[first:last].mean() > TALK_SHARE)


def _rings_on(contour: Contour, note: tuple[int, int], before: tuple[int, int]) -> bool:
    """Whether a short note is the room's ringing: the pitch of the one before it, and softer."""
    is_short = (note[1] - note[0]) * HOP_S < LONGEST_RINGING_S
    if not is_short or note[0] - before[1] > SHORTEST_GAP:
        return False
    one, other = contour.cut(*before), contour.cut(*note)
    hz = [np.nanmedian(each.f0_hz) for each in (one, other)]
    is_same = abs(1200 * np.log2(hz[1] / hz[0])) < STEP_CENTS
    return bool(is_same and other.level.max() < DIP_SHARE * np.quantile(one.level, 0.9))


def _find_unclear(
    contour: Contour, is_heard: Bools, notes: Sequence[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Loud stretches that no note covers."""
    is_free = is_heard & (contour.level > LOUD_SHARE * np.quantile(contour.level, 0.99))
    for first, last in notes:
        is_free[first:last] = False
    return [
        (first, last)
        for first, last in find_stretches(is_free)
        if (last - first) * HOP_S >= SHORTEST_UNCLEAR_S
    ]


def _has_components(
    samples: Samples, rate_hz: float, times_s: Floats, part: tuple[int, int]
) -> bool:
    edges = times_s[[part[0], part[1] - 1]] * rate_hz
    stretch = samples[int(edges[0]) : int(edges[1])]
    frames = make_coarse_frames(stretch, rate_hz)
    return bool(find_components(frames, find_longest_run(frames)))


def _widen(
    parts: Sequence[tuple[int, int]], is_heard: Bools, single: Sequence[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Parts of multiphonics, whose pitch is followed in pieces only, as the whole sounds."""
    is_free = is_heard.copy()
    for first, last in single:
        is_free[first:last] = False
    return [
        (first, last)
        for first, last in find_stretches(is_free)
        if any(first <= start < last for start, _ in parts)
    ]


def _place(
    contour: Contour, notes: Sequence[tuple[int, int]], alternating: frozenset[tuple[int, int]]
) -> Iterator[TakeSpan]:
    """Spans with a margin for onset and release, which never reaches into the next note."""
    times_s = contour.times_s
    end_s = float(times_s[-1]) + HOP_S
    before_s = 0.0
    for number, (first, last) in enumerate(notes):
        steady = _trim_release(contour, first, last)
        next_s = float(times_s[notes[number + 1][0]]) if number + 1 < len(notes) else end_s
        to_s = min(float(times_s[last - 1]) + MARGIN_S, next_s)
        known = contour.f0_hz[first : first if (first, last) in alternating else steady]
        known = known[np.isfinite(known)]
        yield TakeSpan(
            from_s=round(max(float(times_s[first]) - MARGIN_S, before_s), 3),
            to_s=round(to_s, 3),
            steady_from_s=round(float(times_s[first]), 3),
            steady_to_s=round(float(times_s[steady - 1]), 3),
            f0_hz=round(float(np.median(known)), 2) if known.size else None,
        )
        before_s = to_s


def _trim_release(contour: Contour, first: int, last: int) -> int:
    """One past the last row that is not yet dying away."""
    level = contour.level[first:last]
    sounding = np.flatnonzero(level >= RELEASE_SHARE * np.quantile(level, 0.9))
    return first + int(sounding[-1]) + 1
