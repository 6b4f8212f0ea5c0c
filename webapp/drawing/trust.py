"""Errors of predictions, try by try in the order in which they were measured.

Up is sharper than predicted, down flatter; the middle line is "as predicted". A disc is what was
measured; the dashed bar is how far it was expected to stray (one standard uncertainty of the
prediction), so about two discs in three should lie within their bar. A mark beyond the frame
becomes a wedge that points outwards.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from webapp.drawing.plot import (
    ACCENT,
    PLOT_WIDTH,
    Axis,
    bottom_scale,
    cents_grid,
    round_step,
    small_text,
)
from webapp.drawing.svg import ViewBox, element, render, svg_root

TRUST_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 190)
_LEFT, _RIGHT, _TOP, _BOTTOM = 40.0, 350.0, 22.0, 154.0
_LEAST_REACH_CENTS, _MOST_REACH_CENTS = 20.0, 100.0
_MARK = 3.6


@dataclass(frozen=True, slots=True)
class TrustPoint:
    """One prediction and what was measured; offsets in cents from the same target."""

    day: date
    predicted_cents: float
    sigma_cents: float
    measured_cents: float

    @property
    def miss_cents(self) -> float:
        """How much sharper it sounded than predicted."""
        return self.measured_cents - self.predicted_cents

    @property
    def is_within(self) -> bool:
        """Whether the miss is within one standard uncertainty of the prediction."""
        return abs(self.miss_cents) <= self.sigma_cents


def describe_trust(points: Sequence[TrustPoint]) -> str:
    """The drawing in words: how many, how far off, how many as sure as was said."""
    if not points:
        return "No prediction has been compared with a measurement."
    misses = [abs(point.miss_cents) for point in points]
    within = sum(point.is_within for point in points)
    count = "1 prediction" if len(points) == 1 else f"{len(points)} predictions"
    return (
        f"{count} measured. Half of them were off by no more than {median(misses):.0f} cents, the "
        f"worst by {max(misses):.0f}. {within} of {len(points)} lie within the stated uncertainty; "
        "about two in three should."
    )


def draw_trust(points: Sequence[TrustPoint], *, id_prefix: str = "trust") -> str:
    """Draw the misses of at least one prediction, in the order given."""
    root = svg_root(
        TRUST_VIEW_BOX,
        title="Measured minus predicted, try by try",
        desc=describe_trust(points),
        id_prefix=id_prefix,
        class_="trust",
    )
    across = Axis(0.0, len(points) + 1.0, _LEFT, _RIGHT)
    upright = _choose_axis(points)
    root.append(small_text("cents sharper than predicted", x=4, y=12))
    root.append(cents_grid(upright, left=_LEFT, right=_RIGHT, at_most=8))
    root.append(_middle(upright))
    root.append(_days(points))
    for place, point in enumerate(points, start=1):
        root.append(_mark_of(point, across.place(place), upright))
    return render(root)


def _choose_axis(points: Sequence[TrustPoint]) -> Axis:
    reach = max(max(abs(point.miss_cents), point.sigma_cents) for point in points)
    reach = min(max(reach, _LEAST_REACH_CENTS), _MOST_REACH_CENTS)
    step = round_step(2 * reach, at_most=6)
    reach = math.ceil(reach / step) * step
    return Axis(-reach, reach, _BOTTOM, _TOP)


def _middle(axis: Axis) -> ET.Element:
    y = axis.place(0.0)
    line = element("line", x1=_LEFT, y1=y, x2=_RIGHT, y2=y, stroke="currentColor", stroke_width=1.3)
    return element("g", None, line, color=ACCENT, class_="accent")


def _days(points: Sequence[TrustPoint]) -> ET.Element:
    scale = bottom_scale(Axis(0, 1, _LEFT, _RIGHT), _BOTTOM + 4, [])
    first, last = points[0].day, points[-1].day
    scale.append(small_text(_day(first), x=_LEFT, y=_BOTTOM + 21))
    if last != first:
        scale.append(small_text(_day(last), x=_RIGHT, y=_BOTTOM + 21, anchor="end"))
    return scale


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _mark_of(point: TrustPoint, x: float, axis: Axis) -> ET.Element:
    top = axis.place(min(point.sigma_cents, axis.high))
    bottom = axis.place(max(-point.sigma_cents, axis.low))
    bar = element(
        "line", x1=x, y1=top, x2=x, y2=bottom, stroke="currentColor", stroke_width=1.2,
        stroke_dasharray="2.5 2", class_="expected",
    )  # fmt: skip
    if axis.holds(point.miss_cents):
        y = axis.place(point.miss_cents)
        mark = element("circle", cx=x, cy=y, r=_MARK, fill="currentColor", class_="measured")
    else:
        mark = _wedge_beyond(x, is_above=point.miss_cents > 0)
    return element("g", None, bar, mark, class_="try")


def _wedge_beyond(x: float, *, is_above: bool) -> ET.Element:
    edge, outwards = (_TOP, -1) if is_above else (_BOTTOM, 1)
    points = f"{x - 5:g},{edge:g} {x:g},{edge + 8 * outwards:g} {x + 5:g},{edge:g}"
    return element("polygon", points=points, fill="currentColor", class_="measured")
