"""Offset of a fingering from its target: a mark on a short rule with the target in the middle.

Flat is left, sharp is right. The box about the middle is the tolerance, the bar through the mark
its uncertainty (one standard deviation, as measured). A mark beyond the rule becomes a wedge at its
end that points outwards. Position and form say everything; the accent only repeats the target.
The number itself stands beside the drawing, so the drawing carries only the rule's two ends.
What is predicted and not measured is drawn dashed and hollow, and the words say so.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET

from analysis.pitch import format_cents
from webapp.drawing.figures import format_uncertainty
from webapp.drawing.plot import ACCENT, Axis, small_text
from webapp.drawing.svg import ViewBox, element, number, render, svg_root

OFFSET_VIEW_BOX: ViewBox = (0, 0, 200, 38)
_RULE_Y = 12.0
_RULE_HEIGHT = 24.0
_LEFT, _RIGHT = 16.0, 184.0
_MARK_RADIUS = 4.6
_DASHES = "2.2 1.8"


def describe_offset(
    offset_cents: float,
    uncertainty_cents: float | None,
    *,
    tolerance_cents: float,
    is_predicted: bool = False,
) -> str:
    """The drawing in words: the number, which side of the target, and whether within tolerance."""
    figure = f"{'predicted ' if is_predicted else ''}{format_cents(offset_cents)} cents"
    if uncertainty_cents is not None:
        figure += f", give or take {format_uncertainty(uncertainty_cents)}"
    place = "within" if abs(offset_cents) <= tolerance_cents else "outside"
    return f"{figure}: {_side(offset_cents)}, {place} the tolerance of {tolerance_cents:g} cents"


def draw_offset(
    offset_cents: float,
    uncertainty_cents: float | None,
    *,
    tolerance_cents: float,
    range_cents: float = 50,
    is_predicted: bool = False,
    has_ends: bool = True,
    id_prefix: str = "offset",
) -> str:
    """Draw an offset on a rule that reaches `range_cents` to either side of the target.

    In a row of a list the figures of the rule's ends are left out: without `has_ends`.
    """
    words = describe_offset(
        offset_cents,
        uncertainty_cents,
        tolerance_cents=tolerance_cents,
        is_predicted=is_predicted,
    )
    axis = Axis(-range_cents, range_cents, _LEFT, _RIGHT)
    box = OFFSET_VIEW_BOX if has_ends else (*OFFSET_VIEW_BOX[:3], _RULE_HEIGHT)
    root = svg_root(box, title=words, id_prefix=id_prefix, class_="offset")
    root.append(_tolerance_box(axis, min(tolerance_cents, range_cents)))
    root.append(_rule(axis))
    if has_ends:
        root.extend(_end_labels(axis))
    if not axis.holds(offset_cents):
        root.append(_wedge_beyond(axis, offset_cents))
        return render(root)
    if uncertainty_cents is not None:
        bar = _uncertainty_bar(axis, offset_cents, uncertainty_cents)
        if is_predicted:
            bar.attrib.update({"stroke-dasharray": _DASHES, "class": "predicted"})
        root.append(bar)
    root.append(_mark(axis.place(offset_cents), is_predicted=is_predicted))
    return render(root)


def _mark(x: float, *, is_predicted: bool) -> ET.Element:
    if not is_predicted:
        return element(
            "circle", cx=x, cy=_RULE_Y, r=_MARK_RADIUS, fill="currentColor", class_="measured"
        )
    return element(
        "circle", cx=x, cy=_RULE_Y, r=_MARK_RADIUS, class_="open-mark predicted", fill="#ffffff",
        stroke="currentColor", stroke_width=1.4, stroke_dasharray=_DASHES,
    )  # fmt: skip


def _side(offset_cents: float) -> str:
    if format_cents(offset_cents) == format_cents(0):
        return "on the target"
    return "sharp of the target" if offset_cents > 0 else "flat of the target"


def _tolerance_box(axis: Axis, tolerance_cents: float) -> ET.Element:
    left, right = axis.place(-tolerance_cents), axis.place(tolerance_cents)
    return element(
        "rect",
        x=left,
        y=_RULE_Y - 7,
        width=right - left,
        height=14,
        fill="none",
        stroke="currentColor",
        stroke_width=0.7,
    )


def _rule(axis: Axis) -> ET.Element:
    rule = element("g", stroke="currentColor", stroke_width=0.9)
    drawn = [f"M{number(axis.start)} {number(_RULE_Y)}H{number(axis.end)}"]
    for tenth in range(11):  # one path: a list has many rules
        x = axis.start + (axis.end - axis.start) * tenth / 10
        reach = 5 if tenth in {0, 10} else 2.5
        drawn.append(f"M{number(x)} {number(_RULE_Y - reach)}v{number(2 * reach)}")
    rule.append(element("path", d="".join(drawn)))
    middle = axis.place(0)
    target = element(
        "line", x1=middle, y1=0.5, x2=middle, y2=23.5, stroke="currentColor", stroke_width=1.8
    )
    rule.append(element("g", None, target, color=ACCENT, class_="accent"))
    return rule


def _end_labels(axis: Axis) -> list[ET.Element]:
    return [
        small_text(
            format_cents(value, decimals=0),
            x=axis.place(value),
            y=34,
            anchor="middle",
            class_="scale",
        )
        for value in (axis.low, 0.0, axis.high)
    ]


def _uncertainty_bar(axis: Axis, offset_cents: float, uncertainty_cents: float) -> ET.Element:
    left = axis.place(max(offset_cents - uncertainty_cents, axis.low))
    right = axis.place(min(offset_cents + uncertainty_cents, axis.high))
    ends = (element("line", x1=x, y1=_RULE_Y - 4, x2=x, y2=_RULE_Y + 4) for x in (left, right))
    bar = element("line", x1=left, y1=_RULE_Y, x2=right, y2=_RULE_Y, stroke_width=2.4)
    return element(
        "g", None, bar, *ends, stroke="currentColor", stroke_width=1.4, class_="measured"
    )


def _wedge_beyond(axis: Axis, offset_cents: float) -> ET.Element:
    outwards = 1 if offset_cents > 0 else -1
    edge = axis.end if offset_cents > 0 else axis.start
    base, tip = edge + 3 * outwards, edge + 13 * outwards
    points = f"{base:g},{_RULE_Y - 6:g} {tip:g},{_RULE_Y:g} {base:g},{_RULE_Y + 6:g}"
    return element("polygon", points=points, fill="currentColor", class_="measured")
