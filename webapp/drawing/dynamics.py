"""Offsets by dynamic: one row for each dynamic that was played, soft at the top.

A dot with its uncertainty on a rule of cents; the target is the line through all rows. So it is
seen at once how far the note moves from pp to ff.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass

from analysis.pitch import format_cents
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.plot import ACCENT, PLOT_WIDTH, Axis, small_text
from webapp.drawing.svg import element, render, svg_root

_LEFT, _RIGHT = 34.0, PLOT_WIDTH - 14.0
_ROW, _TOP, _BELOW = 24.0, 8.0, 26.0
_RADIUS = 4.6
_LEAST_REACH_CENTS = 10.0


@dataclass(frozen=True, slots=True)
class DynamicOffset:
    """The pooled offset of one dynamic, in cents, with one standard uncertainty."""

    dynamic: str
    offset_cents: float
    uncertainty_cents: float
    take_count: int


def describe_dynamics(rows: Sequence[DynamicOffset]) -> str:
    """The picture in words, soft first."""
    return "; ".join(
        f"{each.dynamic} {format_cents(each.offset_cents)} "
        f"± {format_uncertainty(each.uncertainty_cents)} cents"
        for each in rows
    )


def draw_dynamics(rows: Sequence[DynamicOffset], *, id_prefix: str = "dynamics") -> str:
    """Draw the offsets of at least one dynamic, in the order given."""
    height = _TOP + _ROW * len(rows) + _BELOW
    root = svg_root(
        (0, 0, PLOT_WIDTH, height),
        title="Offset by dynamic",
        desc=describe_dynamics(rows),
        id_prefix=id_prefix,
        class_="dynamics",
    )
    reach = max(
        _LEAST_REACH_CENTS,
        *(abs(each.offset_cents) + each.uncertainty_cents for each in rows),
    )
    axis = Axis(-_round_up(reach), _round_up(reach), _LEFT, _RIGHT)
    bottom = _TOP + _ROW * len(rows)
    middle = axis.place(0.0)
    line = element("line", x1=middle, y1=_TOP - 4, x2=middle, y2=bottom + 2, stroke="currentColor")
    root.append(element("g", None, line, color=ACCENT, class_="accent"))
    for place, each in enumerate(rows):
        root.append(_draw_row(each, axis, _TOP + _ROW * (place + 0.5)))
    for cents in (axis.low, 0.0, axis.high):
        anchor = "start" if cents < 0 else "end" if cents > 0 else "middle"
        label = format_cents(cents, decimals=0)
        root.append(small_text(label, x=axis.place(cents), y=bottom + 18, anchor=anchor))
    return render(root)


def _round_up(cents: float) -> float:
    return math.ceil(cents / 10.0) * 10.0


def _draw_row(each: DynamicOffset, axis: Axis, y: float) -> ET.Element:
    x = axis.place(each.offset_cents)
    left = axis.place(max(each.offset_cents - each.uncertainty_cents, axis.low))
    right = axis.place(min(each.offset_cents + each.uncertainty_cents, axis.high))
    rule = element("line", x1=axis.start, y1=y, x2=axis.end, y2=y, stroke_width=0.6)
    bar = element("line", x1=left, y1=y, x2=right, y2=y, stroke_width=2.4)
    dot = element("circle", cx=x, cy=y, r=_RADIUS, fill="currentColor", stroke="none")
    drawn = element("g", None, rule, bar, dot, stroke="currentColor")
    name = small_text(each.dynamic, x=2, y=y + 4)
    return element("g", None, drawn, name, class_="dynamic")
