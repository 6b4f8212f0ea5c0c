"""Outlines of keys as SVG: plain, grown for a halo, half inked, vented, seen from behind."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

from analysis.keywork import Bar, Circle, Outline
from webapp.drawing.svg import Value, element, number

INK = "#000000"
PAPER = "#ffffff"
_SMALL_HOLE = 0.42


def mirrored(outline: Outline, axis_sum: float) -> Outline:
    """Turn an outline over left to right; `axis_sum` is the sum of the drawing's two edges."""
    if isinstance(outline, Circle):
        return replace(outline, x=axis_sum - outline.x)
    return replace(
        outline, x=axis_sum - outline.x - outline.width, turn_degrees=-outline.turn_degrees
    )


def grown(outline: Outline, by: float) -> Outline:
    """Make the outline that runs at a distance round this one."""
    if isinstance(outline, Circle):
        return replace(outline, radius=outline.radius + by)
    return replace(
        outline,
        x=outline.x - by,
        y=outline.y - by,
        width=outline.width + 2 * by,
        height=outline.height + 2 * by,
        corner=outline.corner + by,
    )


def middle(outline: Outline) -> tuple[float, float]:
    """Find the middle of an outline."""
    if isinstance(outline, Circle):
        return outline.x, outline.y
    return outline.x + outline.width / 2, outline.y + outline.height / 2


def half_width(outline: Outline) -> float:
    """Find how far an outline that is not turned reaches to either side of its middle."""
    return outline.radius if isinstance(outline, Circle) else outline.width / 2


def shape(outline: Outline, **attributes: Value | None) -> ET.Element:
    """Draw the whole outline."""
    if isinstance(outline, Circle):
        return element("circle", cx=outline.x, cy=outline.y, r=outline.radius, **attributes)
    return element(
        "rect",
        x=outline.x,
        y=outline.y,
        width=outline.width,
        height=outline.height,
        rx=min(outline.corner, outline.width / 2, outline.height / 2),
        transform=_turn(outline),
        **attributes,
    )


def lower_half(outline: Outline, **attributes: Value | None) -> ET.Element:
    """Draw the lower half of an outline with a straight upper edge: a shaded hole.

    It is a path of its own and no clipped shape: clip paths need ids and print badly.
    """
    if isinstance(outline, Circle):
        x, y, radius = outline.x, outline.y, outline.radius
        steps = f"M{number(x - radius)} {number(y)}" + _arc(radius, x + radius, y)
        return element("path", d=f"{steps}Z", **attributes)
    left, right = outline.x, outline.x + outline.width
    edge, bottom = outline.y + outline.height / 2, outline.y + outline.height
    corner = min(outline.corner, outline.width / 2, outline.height / 2)
    steps = (
        f"M{number(left)} {number(edge)}V{number(bottom - corner)}"
        + _arc(corner, left + corner, bottom)
        + f"H{number(right - corner)}"
        + _arc(corner, right, bottom - corner)
        + f"V{number(edge)}Z"
    )
    return element("path", d=steps, transform=_turn(outline), **attributes)


def small_hole(outline: Outline, **attributes: Value | None) -> ET.Element:
    """Draw the small hole of a plate that is vented, in its middle.

    Its radius is `_SMALL_HOLE` of the plate's: 0.5 mm on the ordinary plate in a drawing 24 mm
    wide, which leaves as much ink round it as paper across it.
    """
    x, y = middle(outline)
    inner = (
        outline.radius if isinstance(outline, Circle) else min(outline.width, outline.height) / 2
    )
    return element("circle", cx=x, cy=y, r=_SMALL_HOLE * inner, **attributes)


def _arc(radius: float, x: float, y: float) -> str:
    return f"A{number(radius)} {number(radius)} 0 0 0 {number(x)} {number(y)}"


def _turn(bar: Bar) -> str | None:
    if not bar.turn_degrees:
        return None
    x, y = middle(bar)
    return f"rotate({number(bar.turn_degrees)} {number(x)} {number(y)})"
