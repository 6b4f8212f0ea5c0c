"""Line widths of a fingering drawing, for each size it is meant to be seen at.

Lengths are drawing units, 240 across: one unit is 0.1 mm when the drawing is 24 mm wide. No line
may print thinner than 0.12 mm. 12 mm is the smallest width that stays readable.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum


class Profile(StrEnum):
    """What a drawing is for."""

    SMALL = "small"  # 12 mm to 18 mm wide; always reduced
    PRINT = "print"  # about 24 mm wide
    ROW = "row"  # 28 mm high in a list, its live keys named beside it
    ENTRY = "entry"  # a phone, under a thumb
    STAND = "stand"  # 60 mm wide and more, at arm's length
    PAGE = "page"  # the same in a page


@dataclass(frozen=True, slots=True)
class Pen:
    """The strokes and labels of one profile, in drawing units; a label size of 0 prints none.

    Labels of `label_size` stand on the keys; those of `beside_size` name live keys beside their
    groups, in a margin of `margin` units on either side of the layout. What stands `is_in_page`
    has its signs written in the faces of the pages.
    """

    hole: float
    key: float
    neighbour: float
    halo_gap: float
    halo_line: float
    label_size: float = 0.0
    caption_size: float = 0.0
    beside_size: float = 0.0
    margin: float = 0.0
    is_in_page: bool = False


PENS = {
    Profile.SMALL: Pen(hole=4.2, key=3.0, neighbour=2.4, halo_gap=2.8, halo_line=3.4),
    Profile.PRINT: Pen(hole=3.0, key=1.7, neighbour=1.36, halo_gap=2.1, halo_line=2.4),
    Profile.ROW: Pen(
        hole=4.2,
        key=3.0,
        neighbour=2.4,
        halo_gap=2.8,
        halo_line=3.4,
        beside_size=42.0,
        margin=52.0,
        is_in_page=True,
    ),
    Profile.ENTRY: Pen(
        hole=2.0,
        key=1.2,
        neighbour=0.96,
        halo_gap=2.2,
        halo_line=2.0,
        label_size=15.0,
        is_in_page=True,
    ),
    Profile.STAND: Pen(
        hole=2.4,
        key=1.3,
        neighbour=1.04,
        halo_gap=2.0,
        halo_line=2.4,
        label_size=15.0,
        caption_size=12.0,
    ),
}
PENS[Profile.PAGE] = replace(PENS[Profile.STAND], is_in_page=True)
