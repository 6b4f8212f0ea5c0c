"""Outlines of our own for the music signs that the shipped font lacks.

Double arrows, the marks of just commas, twelfth and sixth tone arrows, and a filled reversed flat.
Most are straight-edged; a sign on an ordinary one takes that sign's outline and adds to it.

Conventions. Font units as in `webapp.drawing.glyphs`: 250 to the staff space, y upwards. A polygon
goes round counterclockwise as the font's outer contours do, so that what overlaps stays filled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

Point = tuple[int, int]
Polygon = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class OwnOutline:
    """A sign made of polygons, on the outline of another sign where `base` names one.

    `is_filled` leaves out all but the first contour of that sign, which closes its counter.
    """

    name: str
    base: int | None = None
    polygons: tuple[Polygon, ...] = ()
    is_filled: bool = False


_HEAD_HALF_WIDTH, _HEAD_OVERLAP, _HEAD_REACH = 90, 30, 105


def _head(x: int, tip: int, direction: int) -> Polygon:
    """A second arrowhead beyond the tip of the first; `direction` is 1 up and -1 down."""
    base, end = tip - direction * _HEAD_OVERLAP, tip + direction * _HEAD_REACH
    ends = ((x - _HEAD_HALF_WIDTH, base), (x + _HEAD_HALF_WIDTH, base))
    left, right = ends if direction > 0 else ends[::-1]
    return left, right, (x, end)


def _box(left: int, bottom: int, right: int, top: int) -> Polygon:
    return (left, bottom), (right, bottom), (right, top), (left, top)


def _turned(polygons: tuple[Polygon, ...]) -> tuple[Polygon, ...]:
    """The same mark upside down."""
    return tuple(tuple((x, -y) for x, y in reversed(polygon)) for polygon in polygons)


_SEVEN = (_box(0, 190, 160, 235), ((25, -240), (75, -240), (160, 190), (110, 190)))
_ONE_BAR = (_box(55, -260, 95, 260), _box(0, 80, 55, 140), _box(95, 80, 150, 140))
_TWO_BARS = (
    *(_box(55, -260, 95, 260), _box(0, 40, 55, 90), _box(95, 40, 150, 90)),
    *(_box(0, 150, 55, 200), _box(95, 150, 150, 200)),
)
_HALF_HEAD = (_box(70, -260, 110, 60), ((0, 60), (110, 60), (110, 260)))
_WHOLE_HEAD = (_box(70, -260, 110, 60), ((0, 60), (180, 60), (90, 260)))

# The tips of the one-arrow signs of the shipped font, from its own outlines.
_TWO_ARROWS = (
    (0xE2CB, "accidentalFlatTwoArrowsDown", 0xE271, 56, -418, -1),
    (0xE2D0, "accidentalFlatTwoArrowsUp", 0xE270, 48, 579, 1),
    (0xE2CC, "accidentalNaturalTwoArrowsDown", 0xE273, 153, -543, -1),
    (0xE2D1, "accidentalNaturalTwoArrowsUp", 0xE272, 65, 547, 1),
    (0xE2CD, "accidentalSharpTwoArrowsDown", 0xE275, 66, -534, -1),
    (0xE2D2, "accidentalSharpTwoArrowsUp", 0xE274, 182, 530, 1),
)
# The syntonic commas of Helmholtz-Ellis look like the font's arrows under other code points.
_ONE_ARROW = (
    (0xE2C1, "accidentalFlatOneArrowDown", 0xE271),
    (0xE2C6, "accidentalFlatOneArrowUp", 0xE270),
    (0xE2C2, "accidentalNaturalOneArrowDown", 0xE273),
    (0xE2C7, "accidentalNaturalOneArrowUp", 0xE272),
    (0xE2C3, "accidentalSharpOneArrowDown", 0xE275),
    (0xE2C8, "accidentalSharpOneArrowUp", 0xE274),
)
_MARKS = (
    (0xE2DE, "accidentalLowerOneSeptimalComma", _SEVEN),
    (0xE2DF, "accidentalRaiseOneSeptimalComma", _turned(_SEVEN)),
    (0xE2E2, "accidentalLowerOneUndecimalQuartertone", _turned(_ONE_BAR)),
    (0xE2E3, "accidentalRaiseOneUndecimalQuartertone", _ONE_BAR),
    (0xE2E4, "accidentalLowerOneTridecimalQuartertone", _turned(_TWO_BARS)),
    (0xE2E5, "accidentalRaiseOneTridecimalQuartertone", _TWO_BARS),
    (0xE2A0, "accidentalSims12Down", _turned(_HALF_HEAD)),
    (0xE2A1, "accidentalSims6Down", _turned(_WHOLE_HEAD)),
    (0xE2A3, "accidentalSims12Up", _HALF_HEAD),
    (0xE2A4, "accidentalSims6Up", _WHOLE_HEAD),
)

OWN_OUTLINES: Mapping[int, OwnOutline] = MappingProxyType(
    {
        **{
            point: OwnOutline(name, base, (_head(x, tip, direction),))
            for point, name, base, x, tip, direction in _TWO_ARROWS
        },
        **{point: OwnOutline(name, base) for point, name, base in _ONE_ARROW},
        **{point: OwnOutline(name, None, polygons) for point, name, polygons in _MARKS},
        0xE480: OwnOutline("accidentalQuarterToneFlatFilledReversed", 0xE280, is_filled=True),
    }
)


def trace(polygons: tuple[Polygon, ...]) -> str:
    """Write polygons as SVG path text.

    >>> trace((((0, 0), (10, 0), (5, 8)),))
    'M0 0L10 0L5 8z'
    """
    return "".join("M" + "L".join(f"{x} {y}" for x, y in polygon) + "z" for polygon in polygons)
