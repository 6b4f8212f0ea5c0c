"""Validation of the places of a layout's keys on the drawing."""

from __future__ import annotations

from itertools import combinations

from analysis.keywork.errors import LayoutError
from analysis.keywork.keys import Bar, Circle, Key, Outline, Rectangle
from analysis.keywork.layout import Layout

# 44 CSS pixels (WCAG 2.2, success criterion 2.5.5) on a drawing that is 352 pixels wide.
MIN_HIT = 30
DRAWING_WIDTH = 240


def check_drawing(layout: Layout) -> None:
    """Check that every key can be drawn and touched; raises `LayoutError` at the first fault."""
    x, y, width, height = layout.view_box
    if width != DRAWING_WIDTH or height <= 0:
        problem = f"it must be {DRAWING_WIDTH} wide and have a height"
        raise LayoutError(layout.id, "field 'view_box'", problem)
    sheet = Rectangle(x, y, width, height)
    for key in layout.keys:
        _check_place(layout, key, sheet)
    for first, second in combinations(layout.keys, 2):
        if first.hit.overlaps(second.hit):
            raise LayoutError(
                layout.id, f"key {second.id!r}, field 'hit'", f"it overlaps that of {first.id!r}"
            )


def _check_place(layout: Layout, key: Key, sheet: Rectangle) -> None:
    place = f"key {key.id!r}"
    box = _box(key.outline)
    if min(box.width, box.height) <= 0:
        raise LayoutError(layout.id, f"{place}, field 'outline'", "it must have width and height")
    if isinstance(key.outline, Bar) and key.outline.corner < 0:
        raise LayoutError(layout.id, f"{place}, field 'outline'", "its corner can't be below 0")
    if min(key.hit.width, key.hit.height) < MIN_HIT:
        problem = f"it must be at least {MIN_HIT} wide and {MIN_HIT} high"
        raise LayoutError(layout.id, f"{place}, field 'hit'", problem)
    for name, rectangle in (("outline", box), ("hit", key.hit)):
        if not _holds(sheet, rectangle):
            raise LayoutError(layout.id, f"{place}, field {name!r}", "it leaves the drawing")


def _box(outline: Outline) -> Rectangle:
    if isinstance(outline, Circle):
        side = 2 * outline.radius
        return Rectangle(outline.x - outline.radius, outline.y - outline.radius, side, side)
    return Rectangle(outline.x, outline.y, outline.width, outline.height)


def _holds(sheet: Rectangle, inner: Rectangle) -> bool:
    return (
        sheet.x <= inner.x
        and inner.x + inner.width <= sheet.x + sheet.width
        and sheet.y <= inner.y
        and inner.y + inner.height <= sheet.y + sheet.height
    )
