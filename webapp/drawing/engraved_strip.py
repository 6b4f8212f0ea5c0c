"""Engraved bars as a strip: the engraver's picture with our own music signs in it.

The engraver draws notes, beams and slurs; it knows few microtonal signs, so it keeps room for each
sign, and the sign is drawn in here with the outlines that all staves use. What kept notes apart
is taken out, and styles become attributes, since a style sheet is refused on our pages.

Conventions. Inside, 100 units are a millimetre; the origin is the upper left corner.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph, place_glyph
from webapp.drawing.plot import TEXT_FACE
from webapp.drawing.svg import SVG_NAMESPACE, element, number, render, svg_root

UNITS_PER_MM = 100.0
_SVG = f"{{{SVG_NAMESPACE}}}"
_SPACE = 160.0  # between two staff lines
_GAP = 25.0
_PLACED = re.compile(r"translate\((-?[\d.]+),\s*(-?[\d.]+)\)")
_STROKED = frozenset({"path", "polygon", "polyline", "rect", "ellipse"})
_SLANTED, _BOLD = frozenset({"dynam"}), frozenset({"reh"})


Codepoints = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class EngravedStrip:
    """A system: its picture, its size in millimetres, and where its notes stand from the left."""

    svg: str
    width_mm: float
    height_mm: float
    notes_mm: Mapping[str, float]


def draw_engraved_strip(
    engraved: str,
    signs: Mapping[str, Sequence[Codepoints]],
    *,
    title: str,
    id_prefix: str = "strip",
) -> EngravedStrip:
    """Draw a system with its signs.

    Args:
        engraved: what `analysis.engraving.engrave` made of it.
        signs: for each note's key the glyphs before each of its heads, from low to high, by SMuFL
            code point; none for no sign.
        title: the system in words.
        id_prefix: must be unique on the page.
    """
    root = ET.fromstring(engraved)
    inner = next(each for each in root.iter(f"{_SVG}svg") if each is not root)
    width, height = (float(each) for each in inner.attrib["viewBox"].split()[2:])
    made = svg_root((0, 0, width, height), title=title, id_prefix=id_prefix, class_="strip")
    made.extend(_plain(each) for each in root.findall(f"{_SVG}defs"))
    page = inner.find(f"{_SVG}g")
    assert page is not None
    left, top = _place_of(page)
    system = element("g", color="#000000", transform=f"translate({number(left)} {number(top)})")
    made.append(system)
    notes: dict[str, float] = {}
    for each in page:
        _take_out_room(each)
        notes.update(_sign_notes(each, signs))
        system.append(_plain(each))
    right = {key: (left + x) / UNITS_PER_MM for key, x in notes.items()}
    return EngravedStrip(render(made), width / UNITS_PER_MM, height / UNITS_PER_MM, right)


def _place_of(drawn: ET.Element) -> tuple[float, float]:
    found = _PLACED.match(drawn.get("transform", ""))
    return (float(found[1]), float(found[2])) if found else (0.0, 0.0)


def _take_out_room(group: ET.Element) -> None:
    for parent in list(group.iter()):
        for child in list(parent):
            if {"verse", "mNum", "placeholder"} & set(child.get("class", "").split()):
                parent.remove(child)


def _sign_notes(
    group: ET.Element, signs: Mapping[str, Sequence[Codepoints]]
) -> Iterator[tuple[str, float]]:
    """Draw the signs of notes in; give the key and the place of each note."""
    for drawn in group.iter():
        key = drawn.get("id", "")
        if key not in signs:
            continue
        heads = [each for each in drawn.iter() if each.get("class") == "notehead"]
        rooms = [each for each in drawn.iter() if each.get("class") == "accid"]
        uses = [use for head in heads for use in head.iter(f"{_SVG}use")]
        x = min(_place_of(use)[0] for use in uses)
        # the engraver draws the heads of a chord as they are written, from low to high
        for room, codepoints in zip(rooms, filter(None, signs[key]), strict=True):
            _draw_sign(room, codepoints)
        yield key, x + load_glyph(0xE0A4).width * _SPACE / UNITS_PER_STAFF_SPACE / 2


def _draw_sign(room: ET.Element, codepoints: Codepoints) -> None:
    """Put a sign where room was kept for one, its ink ending where that of the other did."""
    use = room.find(f"{_SVG}use")
    assert use is not None
    x, y = _place_of(use)
    scale = _SPACE / UNITS_PER_STAFF_SPACE
    kept = load_glyph(int(use.attrib["href"][1:5], 16))
    edge = x + kept.right * scale
    room.remove(use)
    for codepoint in reversed(codepoints):
        glyph = load_glyph(codepoint)
        room.append(place_glyph(codepoint, x=edge - glyph.right * scale, y=y, space=_SPACE))
        edge -= glyph.right * scale + _GAP


def _name(drawn: ET.Element) -> str:
    return drawn.tag.removeprefix(_SVG)


def _plain(drawn: ET.Element, *, in_defs: bool = False) -> ET.Element:
    """Copy an element of the engraver with attributes for its styles."""
    name = _name(drawn)
    inside = in_defs or name == "defs"
    made = ET.Element(name, drawn.attrib)
    made.text, made.tail = drawn.text, drawn.tail
    classes = set(made.attrib.pop("class", "").split())
    if name in _STROKED and not inside and drawn.tag.startswith(_SVG):
        made.attrib.setdefault("stroke", "currentColor")
    if classes & _SLANTED:
        made.set("font-style", "italic")
    if classes & _BOLD:
        made.set("font-weight", "bold")
    if name == "text":
        made.attrib.setdefault("font-family", TEXT_FACE)
    made.extend(_plain(each, in_defs=inside) for each in drawn)
    return made
