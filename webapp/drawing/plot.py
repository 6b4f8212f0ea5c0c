"""Frame of the plots: honest gridlines, ticks at round numbers, small text.

Conventions. A plot is 360 units wide, so on a phone one unit is about one CSS pixel and text of 12
units stays legible; printed 90 mm wide it is about 8.5 points. Ink is `currentColor`, so a theme
decides it; the one accent is the class `accent`, whose `color` a stylesheet may replace and which
carries its own colour on paper. Nothing is told by colour alone.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analysis.pitch import format_cents
from webapp.drawing.svg import element, number

TEXT_FACE = "FiraGO, 'Noto Sans', sans-serif"
TEXT_SIZE = 12
ACCENT = "#8c2f1b"
PLOT_WIDTH = 360.0

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: the values at its two ends and where those ends lie on the drawing."""

    low: float
    high: float
    start: float
    end: float

    def place(self, value: float) -> float:
        """The coordinate of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def holds(self, value: float) -> bool:
        """Whether a value lies between the ends."""
        return self.low <= value <= self.high


def round_step(span: float, *, at_most: int) -> float:
    """The smallest step of 1, 2 or 5 times a power of ten that cuts a span into few enough parts.

    >>> round_step(37, at_most=6), round_step(2.4, at_most=6)
    (10.0, 0.5)
    """
    power = math.floor(math.log10(span / at_most))
    steps = (factor * 10.0**exponent for exponent in (power, power + 1) for factor in (1, 2, 5))
    return next(step for step in steps if span / step <= at_most)


def round_ticks(low: float, high: float, *, at_most: int) -> tuple[float, ...]:
    """Round numbers inside a range, its ends included where they are round themselves."""
    step = round_step(high - low, at_most=at_most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(index * step for index in range(first, last + 1))


def small_text(
    text: str, *, x: float, y: float, anchor: str = "start", class_: str | None = None
) -> ET.Element:
    """Text of the one size that plots use."""
    return element(
        "text",
        text,
        x=x,
        y=y,
        font_size=TEXT_SIZE,
        font_family=TEXT_FACE,
        text_anchor=None if anchor == "start" else anchor,
        fill="currentColor",
        class_=class_,
    )


def gridlines(horizontal: Iterable[float], *, left: float, right: float) -> ET.Element:
    """Thin lines across the plot at these heights."""
    lines = (element("line", x1=left, y1=y, x2=right, y2=y) for y in horizontal)
    return element("g", None, *lines, stroke="currentColor", stroke_width=0.6, stroke_opacity=0.35)


def bottom_scale(axis: Axis, y: float, labels: Sequence[tuple[float, str]]) -> ET.Element:
    """The axis along the bottom: a line, a short tick at each value, its label under it."""
    scale = element("g", class_="scale")
    scale.append(_stroke(axis.start, y, axis.end, y))
    for value, label in labels:
        x = axis.place(value)
        scale.append(_stroke(x, y, x, y + 4))
        scale.append(small_text(label, x=x, y=y + 17, anchor="middle"))
    return scale


def polyline(points: Sequence[Point], *, width: float) -> ET.Element:
    """A line through these points; a single point is drawn as a dot."""
    path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return element(
        "path",
        d=path if len(points) > 1 else path + "h0",
        fill="none",
        stroke="currentColor",
        stroke_width=width,
        stroke_linecap="round",
        stroke_linejoin="round",
    )


def _stroke(x1: float, y1: float, x2: float, y2: float) -> ET.Element:
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="currentColor", stroke_width=0.9)


def time_scale_words(axis: Axis) -> str:
    """Say for a script where time lies on a drawing: from, to in seconds; left, right.

    >>> time_scale_words(Axis(0.0, 1.5, 40.0, 312.0))
    '0 1.5 40 312'
    """
    return f"{axis.low:.6g} {axis.high:.6g} {number(axis.start)} {number(axis.end)}"


def cents_grid(axis: Axis, *, left: float, right: float, at_most: int) -> ET.Element:
    """Lines across at round numbers of cents, each with its number on the left."""
    ticks = round_ticks(axis.low, axis.high, at_most=at_most)
    grid = element("g", class_="scale")
    grid.append(gridlines((axis.place(tick) for tick in ticks), left=left, right=right))
    for tick in ticks:
        words = format_cents(tick, decimals=0)
        grid.append(small_text(words, x=left - 6, y=axis.place(tick) + 4, anchor="end"))
    return grid
