"""The pitch of a take over time, against its target line.

Pitch is drawn in cents from the note, time in seconds. Where no pitch was found the line has a
gap. The vertical range follows the sound: it always holds the target and the whole steady part,
and nearly everything else; where the pitch leaves it, a wedge at the edge says so. The steady part,
from which the numbers are taken, has a bracket over it and a light ground.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise
from statistics import median

from analysis.pitch import format_cents
from analysis.recording import PitchTrace
from webapp.drawing.plot import (
    ACCENT,
    PLOT_WIDTH,
    Axis,
    bottom_scale,
    cents_grid,
    polyline,
    round_step,
    round_ticks,
    small_text,
    time_scale_words,
)
from webapp.drawing.svg import ViewBox, element, number, render, svg_root

TRACE_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 196)
_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 312.0, 36.0, 160.0
_LEAST_REACH_CENTS = 10.0
_MOST_GRID_PARTS, _MOST_TIME_PARTS = 6, 6
# A silence of more than this many of the trace's usual steps is a gap, not a slow step.
_GAP_STEPS = 2.5
_CENTS_PER_OCTAVE = 1200

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class TracePoint:
    """One moment of the trace: seconds from the start, cents from the note."""

    time_s: float
    cents: float


def describe_trace(trace: PitchTrace, *, target_hz: float, steady: Span | None) -> str:
    """The trace in words: between which offsets the pitch stays, for how long, and its gaps."""
    runs = _find_runs(trace, target_hz)
    points = [point for run in runs for point in run]
    if not points:
        return "No pitch was found in this take."
    if steady is None:
        sentence = f"There is no steady part. The pitch lies {_between(points)}."
    else:
        held = _within(points, steady) or points
        sentence = (
            f"Pitch stays {_between(held)} over {steady[1] - steady[0]:.1f} s, "
            f"the steady part from {steady[0]:.1f} to {steady[1]:.1f} s."
        )
    return " ".join([sentence, *_describe_rest(points, steady), *_describe_gaps(runs)])


def draw_trace(
    trace: PitchTrace, *, target_hz: float, steady: Span | None, id_prefix: str = "trace"
) -> str:
    """Draw the pitch of a take in cents about `target_hz`; `steady` is from and to in seconds."""
    words = describe_trace(trace, target_hz=target_hz, steady=steady)
    root = svg_root(
        TRACE_VIEW_BOX, title="Pitch over time", desc=words, id_prefix=id_prefix, class_="trace"
    )
    runs = _find_runs(trace, target_hz)
    points = [point for run in runs for point in run]
    if not points:
        root.append(small_text("no pitch found", x=PLOT_WIDTH / 2, y=100, anchor="middle"))
        return render(root)
    time_axis = _choose_time_axis(points, steady)
    cents_axis = _choose_cents_axis(points, steady)
    # For a script that moves a cursor along with the sound.
    root.set("data-time", time_scale_words(time_axis))
    root.set("data-height", f"{number(_TOP)} {number(_BOTTOM)}")
    root.append(small_text("cents from the note", x=4, y=12))
    if steady is not None:
        root.append(_steady_ground(time_axis, steady))
    root.append(cents_grid(cents_axis, left=_LEFT, right=_RIGHT, at_most=_MOST_GRID_PARTS))
    root.append(_target_line(cents_axis))
    root.append(_time_scale(time_axis))
    root.append(_line_of_pitch(runs, time_axis, cents_axis))
    root.append(_wedges(runs, time_axis, cents_axis))
    return render(root)


def _find_runs(trace: PitchTrace, target_hz: float) -> list[list[TracePoint]]:
    """The trace cut at its gaps."""
    points = [
        TracePoint(time_s, _CENTS_PER_OCTAVE * math.log2(f0_hz / target_hz))
        for time_s, f0_hz in zip(trace.times_s, trace.f0_hz, strict=True)
        if math.isfinite(f0_hz) and f0_hz > 0
    ]
    if len(points) < 2:
        return [points] if points else []
    steps_s = [later.time_s - earlier.time_s for earlier, later in pairwise(points)]
    longest_s = _GAP_STEPS * median(steps_s)
    runs = [[points[0]]]
    for point, step_s in zip(points[1:], steps_s, strict=True):
        if step_s > longest_s:
            runs.append([])
        runs[-1].append(point)
    return runs


def _within(points: list[TracePoint], span: Span) -> list[TracePoint]:
    return [point for point in points if span[0] <= point.time_s <= span[1]]


def _between(points: list[TracePoint]) -> str:
    low, high = (
        format_cents(end(point.cents for point in points), decimals=0) for end in (min, max)
    )
    if low == high:
        return f"at {low} cents from the note"
    return f"between {low} and {high} cents of the target"


def _describe_rest(points: list[TracePoint], steady: Span | None) -> Iterator[str]:
    if steady is None:
        return
    rest = [point for point in points if not steady[0] <= point.time_s <= steady[1]]
    if rest:
        yield f"Outside it the pitch lies {_between(rest)}."


def _describe_gaps(runs: list[list[TracePoint]]) -> Iterator[str]:
    if len(runs) < 2:
        return
    times = ", ".join(f"{run[-1].time_s:.1f} s" for run in runs[:-1][:3])
    often = "once" if len(runs) == 2 else f"{len(runs) - 1} times"
    more = " and later" if len(runs) > 4 else ""
    yield f"The pitch breaks off {often}, at {times}{more}."


def _choose_time_axis(points: list[TracePoint], steady: Span | None) -> Axis:
    last_s = max(points[-1].time_s, steady[1] if steady else 0.0, 0.1)
    return Axis(0.0, last_s, _LEFT, _RIGHT)


def _choose_cents_axis(points: list[TracePoint], steady: Span | None) -> Axis:
    ordered = sorted(point.cents for point in points)
    trimmed = len(ordered) // 20
    shown = ordered[trimmed : len(ordered) - trimmed]
    if steady is not None:
        shown += [point.cents for point in _within(points, steady)]
    low, high = min(*shown, -_LEAST_REACH_CENTS), max(*shown, _LEAST_REACH_CENTS)
    step = round_step(high - low, at_most=_MOST_GRID_PARTS - 1)
    return Axis(math.floor(low / step) * step, math.ceil(high / step) * step, _BOTTOM, _TOP)


def _steady_ground(time_axis: Axis, steady: Span) -> ET.Element:
    left, right = (time_axis.place(end) for end in steady)
    ground = element(
        "rect",
        x=left,
        y=_TOP,
        width=right - left,
        height=_BOTTOM - _TOP,
        fill="currentColor",
        fill_opacity=0.07,
    )
    bracket = element(
        "path",
        d=f"M{number(left)} {_TOP:g}v-5H{number(right)}v5",
        fill="none",
        stroke="currentColor",
        stroke_width=1.1,
    )
    label = small_text(
        "steady", x=min((left + right) / 2, PLOT_WIDTH - 30), y=_TOP - 9, anchor="middle"
    )
    return element("g", None, ground, bracket, label, class_="steady")


def _target_line(axis: Axis) -> ET.Element:
    y = axis.place(0.0)
    line = element("line", x1=_LEFT, y1=y, x2=_RIGHT, y2=y, stroke="currentColor", stroke_width=1.3)
    label = small_text("note", x=_RIGHT + 5, y=y + 4)
    return element("g", None, line, label, color=ACCENT, class_="accent")


def _time_scale(axis: Axis) -> ET.Element:
    ticks = round_ticks(axis.low, axis.high, at_most=_MOST_TIME_PARTS)
    scale = bottom_scale(axis, _BOTTOM + 4, [(tick, f"{tick:g}") for tick in ticks])
    scale.append(small_text("s", x=_RIGHT + 5, y=_BOTTOM + 21))
    return scale


def _line_of_pitch(runs: list[list[TracePoint]], time_axis: Axis, cents_axis: Axis) -> ET.Element:
    line = element("g", class_="pitch")
    for run in runs:
        for is_shown, points in groupby(run, key=lambda point: cents_axis.holds(point.cents)):
            if is_shown:
                places = [(time_axis.place(p.time_s), cents_axis.place(p.cents)) for p in points]
                line.append(polyline(places, width=1.7))
    return line


def _wedges(runs: list[list[TracePoint]], time_axis: Axis, cents_axis: Axis) -> ET.Element:
    """One wedge at the edge for each time the pitch leaves the picture."""
    wedges = element("g", class_="beyond")
    for run in runs:
        for side, points in groupby(run, key=lambda point: _side_left(point, cents_axis)):
            if side:
                middle_s = median(point.time_s for point in points)
                wedges.append(_wedge(time_axis.place(middle_s), side))
    return wedges


def _side_left(point: TracePoint, axis: Axis) -> int:
    return (point.cents > axis.high) - (point.cents < axis.low)


def _wedge(x: float, side: int) -> ET.Element:
    edge, tip = (_TOP + 6, _TOP) if side > 0 else (_BOTTOM - 6, _BOTTOM)
    corners = f"M{number(x - 4)} {edge:g}h8L{number(x)} {tip:g}z"
    return element("path", d=corners, fill="currentColor")
