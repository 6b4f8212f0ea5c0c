"""A fingering's offset over the days it was played, take by take.

Time runs evenly from the first day to the last, offsets in cents from the note. A mark's form
says how loud the take was played: open ring soft, full disc middle, full square loud, cross not
noted; a thin line through it is the take's own uncertainty of 95% (twice the standard one). The
median of each day is joined by a line. The light ground is the player's tolerance.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from statistics import median

from analysis.pitch import format_cents
from webapp.drawing.plot import (
    ACCENT,
    PLOT_WIDTH,
    Axis,
    bottom_scale,
    cents_grid,
    polyline,
    round_step,
    small_text,
)
from webapp.drawing.svg import ViewBox, element, number, render, svg_root

HISTORY_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 216)
_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 318.0, 22.0, 154.0
_LEGEND_Y = 204.0
_LEAST_REACH_CENTS = 10.0
_MOST_GRID_PARTS = 6
_MARK = 4.0
SOFT, MIDDLE, LOUD, NOT_NOTED = "soft", "middle", "loud", "not noted"
LEFT_OUT = "not counted"
_LOUDNESS = {"pp": SOFT, "p": SOFT, "mp": MIDDLE, "mf": MIDDLE, "f": LOUD, "ff": LOUD}


@dataclass(frozen=True, slots=True)
class HistoryPoint:
    """One take: its day, its offset with its standard uncertainty, its dynamic if noted."""

    day: date
    offset_cents: float
    uncertainty_cents: float
    dynamic: str | None = None
    is_left_out: bool = False
    """Whether the take does not count."""

    @property
    def loudness(self) -> str:
        """Soft, middle, loud, or not noted."""
        return _LOUDNESS.get(self.dynamic or "", NOT_NOTED)


def count_days(points: Sequence[HistoryPoint]) -> int:
    """How many days there are takes on."""
    return len({point.day for point in points})


def describe_history(points: Sequence[HistoryPoint]) -> str:
    """The history in words: first and last day, the range, and what loud and soft do."""
    if not points:
        return "There are no measured takes."
    ordered = sorted(_counting(points), key=lambda point: point.day)
    if not ordered:
        return f"No take counts; {_left_out_words(points)}."
    days = _medians_by_day(ordered)
    (first, first_cents), (last, last_cents) = days[0], days[-1]
    low = min(point.offset_cents for point in ordered)
    high = max(point.offset_cents for point in ordered)
    takes = "1 take" if len(ordered) == 1 else f"{len(ordered)} takes"
    aside = _left_out_words(points)
    if len(days) == 1:
        words = f"{takes} on {_day(first)}, at {_cents(first_cents)} cents"
        return f"{words}; {aside}." if aside else f"{words}."
    sentences = [
        f"{takes} on {len(days)} days, from {_day(first)} at {_cents(first_cents)} cents to "
        f"{_day(last)} at {_cents(last_cents)} cents; all lie between {_cents(low)} and "
        f"{_cents(high)} cents."
    ]
    by_loudness = {
        name: [point.offset_cents for point in ordered if point.loudness == name]
        for name in (SOFT, MIDDLE, LOUD)
    }
    heard = [f"{name} {_cents(median(each))}" for name, each in by_loudness.items() if each]
    if len(heard) > 1:
        sentences.append(f"Median by dynamic, in cents: {', '.join(heard)}.")
    if aside:
        sentences.append(f"{aside[0].upper()}{aside[1:]}.")
    return " ".join(sentences)


def _counting(points: Sequence[HistoryPoint]) -> list[HistoryPoint]:
    return [point for point in points if not point.is_left_out]


def _left_out_words(points: Sequence[HistoryPoint]) -> str:
    aside = sorted((point for point in points if point.is_left_out), key=lambda point: point.day)
    if not aside:
        return ""
    named = ", ".join(f"{_day(point.day)} at {_cents(point.offset_cents)}" for point in aside)
    return f"left out, as not counted: {named} cents"


def draw_history(
    points: Sequence[HistoryPoint], *, tolerance_cents: float, id_prefix: str = "history"
) -> str:
    """Draw the offsets of takes over their days; there must be takes on two days or more.

    What does not count is a wedge, at the edge where it lies beyond the others.
    """
    ordered = sorted(_counting(points), key=lambda point: point.day)
    root = svg_root(
        HISTORY_VIEW_BOX,
        title="Offset over time",
        desc=describe_history(points),
        id_prefix=id_prefix,
        class_="history",
    )
    if count_days(ordered) < 2:
        root.append(small_text("one day only", x=PLOT_WIDTH / 2, y=100, anchor="middle"))
        return render(root)
    days = sorted(point.day for point in points)
    day_axis = Axis(days[0].toordinal(), days[-1].toordinal(), _LEFT + 10, _RIGHT - 10)
    cents_axis = _choose_cents_axis(ordered)
    root.append(small_text("cents from the note", x=4, y=12))
    root.append(_tolerance(cents_axis, tolerance_cents))
    root.append(cents_grid(cents_axis, left=_LEFT, right=_RIGHT, at_most=_MOST_GRID_PARTS))
    root.append(_target_line(cents_axis))
    root.append(_day_scale(day_axis, days[0], days[-1]))
    medians = [
        (day_axis.place(day.toordinal()), cents_axis.place(cents))
        for day, cents in _medians_by_day(ordered)
    ]
    root.append(element("g", None, polyline(medians, width=1.0), class_="medians"))
    for point in ordered:
        root.append(_mark_of(point, day_axis, cents_axis))
    for point in points:
        if point.is_left_out:
            root.append(_wedge_of(point, day_axis, cents_axis))
    names = {point.loudness for point in ordered}
    root.append(_legend(names | {LEFT_OUT} if len(ordered) < len(points) else names))
    return render(root)


def _medians_by_day(ordered: Sequence[HistoryPoint]) -> list[tuple[date, float]]:
    return [
        (day, median(point.offset_cents for point in group))
        for day, group in groupby(ordered, key=lambda point: point.day)
    ]


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _cents(cents: float) -> str:
    return format_cents(cents, decimals=0)


def _choose_cents_axis(points: Sequence[HistoryPoint]) -> Axis:
    low = min(-_LEAST_REACH_CENTS, *(point.offset_cents for point in points))
    high = max(_LEAST_REACH_CENTS, *(point.offset_cents for point in points))
    step = round_step(high - low, at_most=_MOST_GRID_PARTS - 1)
    return Axis(math.floor(low / step) * step, math.ceil(high / step) * step, _BOTTOM, _TOP)


def _tolerance(axis: Axis, tolerance_cents: float) -> ET.Element:
    top = axis.place(min(tolerance_cents, axis.high))
    bottom = axis.place(max(-tolerance_cents, axis.low))
    return element(
        "rect",
        x=_LEFT,
        y=top,
        width=_RIGHT - _LEFT,
        height=bottom - top,
        fill="currentColor",
        fill_opacity=0.07,
        class_="tolerance",
    )


def _target_line(axis: Axis) -> ET.Element:
    y = axis.place(0.0)
    line = element("line", x1=_LEFT, y1=y, x2=_RIGHT, y2=y, stroke="currentColor", stroke_width=1.3)
    label = small_text("note", x=_RIGHT + 4, y=y + 4)
    return element("g", None, line, label, color=ACCENT, class_="accent")


def _day_scale(axis: Axis, first: date, last: date) -> ET.Element:
    # Both ends only: dates are long, and the distance between them is what matters.
    ends = [(float(first.toordinal()), ""), (float(last.toordinal()), "")]
    scale = bottom_scale(axis, _BOTTOM + 4, ends)
    scale.append(small_text(_day(first), x=_LEFT, y=_BOTTOM + 21))
    scale.append(small_text(_day(last), x=_RIGHT, y=_BOTTOM + 21, anchor="end"))
    return scale


def _mark_of(point: HistoryPoint, day_axis: Axis, cents_axis: Axis) -> ET.Element:
    x, y = day_axis.place(point.day.toordinal()), cents_axis.place(point.offset_cents)
    reach = 2 * point.uncertainty_cents
    top = max(cents_axis.place(point.offset_cents + reach), _TOP)
    bottom = min(cents_axis.place(point.offset_cents - reach), _BOTTOM)
    whisker = element(
        "line", x1=x, y1=top, x2=x, y2=bottom, stroke="currentColor", stroke_width=0.9
    )
    return element("g", None, whisker, _FORMS[point.loudness](x, y), class_="take")


def _ring(x: float, y: float) -> ET.Element:
    # Filled with the ground it lies on, so that lines do not run through it.
    return element(
        "circle", cx=x, cy=y, r=_MARK, class_="open-mark", fill="#ffffff", stroke="currentColor",
        stroke_width=1.5,
    )  # fmt: skip


def _disc(x: float, y: float) -> ET.Element:
    return element("circle", cx=x, cy=y, r=_MARK, fill="currentColor")


def _square(x: float, y: float) -> ET.Element:
    return element(
        "rect", x=x - _MARK, y=y - _MARK, width=2 * _MARK, height=2 * _MARK, fill="currentColor"
    )


def _cross(x: float, y: float) -> ET.Element:
    size = number(2 * _MARK)
    path = (
        f"M{number(x - _MARK)} {number(y - _MARK)}l{size} {size}"
        f"M{number(x - _MARK)} {number(y + _MARK)}l{size} -{size}"
    )
    return element("path", d=path, fill="none", stroke="currentColor", stroke_width=1.5)


def _wedge(x: float, y: float) -> ET.Element:
    points = f"{number(x - _MARK)},{number(y - _MARK)} {number(x + _MARK)},{number(y - _MARK)}"
    return element(
        "polygon", points=f"{points} {number(x)},{number(y + _MARK)}", fill="none",
        stroke="currentColor", stroke_width=1.2, class_="left-out",
    )  # fmt: skip


def _wedge_of(point: HistoryPoint, day_axis: Axis, cents_axis: Axis) -> ET.Element:
    cents = min(max(point.offset_cents, cents_axis.low), cents_axis.high)
    return _wedge(day_axis.place(point.day.toordinal()), cents_axis.place(cents))


_FORMS: dict[str, Callable[[float, float], ET.Element]] = {
    SOFT: _ring,
    MIDDLE: _disc,
    LOUD: _square,
    NOT_NOTED: _cross,
    LEFT_OUT: _wedge,
}


def _legend(present: set[str]) -> ET.Element:
    legend = element("g", class_="legend")
    x = _LEFT
    for name, form in _FORMS.items():
        if name not in present:
            continue
        legend.append(form(x + _MARK, _LEGEND_Y - 4))
        legend.append(small_text(name, x=x + 14, y=_LEGEND_Y))
        x += 80
    return legend
