"""Evenness of a note with its neighbours: one note as a mark on a rule, the others as strokes.

The middle of the rule is the middle of the notes nearby; each of them is a short stroke, so that
their own scatter is seen. Less is left, more is right, and the two ends say of what. A mark beyond
the rule becomes a wedge at its end that points outwards; a stroke beyond it is left out.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence

from webapp.drawing.plot import ACCENT, PLOT_WIDTH, Axis, small_text
from webapp.drawing.svg import ViewBox, element, render, svg_root

EVENNESS_VIEW_BOX: ViewBox = (0, 0, PLOT_WIDTH, 38)
_RULE_Y = 12.0
_LEFT, _RIGHT = 18.0, PLOT_WIDTH - 18.0
_MARK_RADIUS = 5.0


def draw_evenness(
    difference: float,
    others: Sequence[float],
    *,
    reach: float,
    less: str,
    more: str,
    title: str,
    id_prefix: str = "evenness",
) -> str:
    """Draw one note's difference from the middle of `others`, which are such differences too.

    `reach` is how far the rule goes to either side, `title` the drawing in words.
    """
    axis = Axis(-reach, reach, _LEFT, _RIGHT)
    root = svg_root(EVENNESS_VIEW_BOX, title=title, id_prefix=id_prefix, class_="evenness")
    root.append(_rule(axis))
    root.append(_strokes(axis, others))
    root.append(small_text(less, x=_LEFT, y=35))
    root.append(small_text(more, x=_RIGHT, y=35, anchor="end"))
    if axis.holds(difference):
        x = axis.place(difference)
        root.append(element("circle", cx=x, cy=_RULE_Y, r=_MARK_RADIUS, fill="currentColor"))
    else:
        root.append(_wedge_beyond(axis, difference))
    return render(root)


def _rule(axis: Axis) -> ET.Element:
    middle = axis.place(0)
    line = element("line", x1=axis.start, y1=_RULE_Y, x2=axis.end, y2=_RULE_Y, stroke_width=0.9)
    centre = element("line", x1=middle, y1=1, x2=middle, y2=23, stroke_width=2)
    marked = element("g", None, centre, color=ACCENT, class_="accent", stroke="currentColor")
    return element("g", None, line, marked, stroke="currentColor")


def _strokes(axis: Axis, others: Sequence[float]) -> ET.Element:
    places = (axis.place(each) for each in others if axis.holds(each))
    strokes = (element("line", x1=x, y1=_RULE_Y - 6, x2=x, y2=_RULE_Y + 6) for x in places)
    return element("g", None, *strokes, stroke="currentColor", stroke_width=1.4, class_="others")


def _wedge_beyond(axis: Axis, difference: float) -> ET.Element:
    outwards = 1 if difference > 0 else -1
    edge = axis.end if difference > 0 else axis.start
    base, tip = edge + 3 * outwards, edge + 14 * outwards
    points = f"{base:g},{_RULE_Y - 6:g} {tip:g},{_RULE_Y:g} {base:g},{_RULE_Y + 6:g}"
    return element("polygon", points=points, fill="currentColor")
