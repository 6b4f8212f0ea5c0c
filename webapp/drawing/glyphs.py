"""Music signs as outlines: clefs, noteheads, accidentals, octave signs.

The outlines are the Bravura font's (SIL Open Font License), read as files from the `verovio` wheel.
The wheel is located, never imported: its engraving engine is not needed and stays unloaded. The
signs that it lacks have outlines of our own (`own_outlines`).

Conventions. Signs are named by SMuFL code point. Font units: 1000 to the em, y upwards, and by
SMuFL's rule one em is four staff spaces, so a staff space is 250 units. Drawings count y downwards.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from webapp.drawing.own_outlines import OWN_OUTLINES, OwnOutline, trace
from webapp.drawing.svg import element, number

UNITS_PER_STAFF_SPACE = 250.0


class MusicSignError(LookupError):
    """A music sign's outline can't be found where the installation should have put it."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One sign: SMuFL name, outline as SVG path text, ink box in font units (y upwards)."""

    codepoint: int
    name: str
    path: str
    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge of the ink."""
        return self.left + self.width


@lru_cache(maxsize=256)
def load_glyph(codepoint: int) -> Glyph:
    """Read the sign with this SMuFL code point; raises `MusicSignError`."""
    own = OWN_OUTLINES.get(codepoint)
    if own is not None:
        return _make(codepoint, own)
    listed = _listed_signs().get(codepoint)
    outline = _font_folder() / f"{codepoint:04X}.xml"
    if listed is None or not outline.is_file():
        raise MusicSignError(
            f"The music font has no sign U+{codepoint:04X}. Install the app's packages again."
        )
    paths = [path.get("d", "") for path in ET.parse(outline).getroot().iter("path")]
    left, bottom, width, height = (float(listed[side]) for side in ("x", "y", "w", "h"))
    return Glyph(codepoint, listed["n"], " ".join(paths), left, bottom, width, height)


def _make(codepoint: int, own: OwnOutline) -> Glyph:
    """Put a sign of our own together; its ink box holds its polygons and the sign under them."""
    corners = [corner for polygon in own.polygons for corner in polygon]
    xs, ys = [float(x) for x, _ in corners], [float(y) for _, y in corners]
    path = trace(own.polygons)
    if own.base is not None:
        base = load_glyph(own.base)
        path = _first_contour(base.path) if own.is_filled else f"{base.path}{path}"
        xs += [base.left, base.right]
        ys += [base.bottom, base.bottom + base.height]
    left, bottom = min(xs), min(ys)
    return Glyph(codepoint, own.name, path, left, bottom, max(xs) - left, max(ys) - bottom)


def _first_contour(path: str) -> str:
    return path[: path.index("z") + 1]


def place_glyph(codepoint: int, *, x: float, y: float, space: float) -> ET.Element:
    """Draw a sign with its origin at (x, y), on a staff whose lines lie `space` apart."""
    scale = space / UNITS_PER_STAFF_SPACE
    # Scales such as 0.04 need more than the two decimals of a coordinate.
    factor = f"{scale:.5f}".rstrip("0")
    return element(
        "path",
        d=load_glyph(codepoint).path,
        transform=f"translate({number(x)} {number(y)}) scale({factor} -{factor})",
        fill="currentColor",
    )


@lru_cache(maxsize=1)
def _font_folder() -> Path:
    spec = find_spec("verovio")
    for place in (spec.submodule_search_locations or ()) if spec else ():
        folder = Path(place) / "data" / "Bravura"
        if folder.is_dir():
            return folder
    raise MusicSignError("The music font is not installed. Install the app's packages again.")


@lru_cache(maxsize=1)
def _listed_signs() -> dict[int, dict[str, str]]:
    """The font's own list: for each sign its name (n) and ink box (x, y, w, h)."""
    listing = ET.parse(_font_folder().with_suffix(".xml")).getroot()
    return {int(sign.attrib["c"], 16): sign.attrib for sign in listing.iter("g")}
