"""Building blocks shared by every drawing: SVG elements, numbers, and the root with its words.

Conventions. Elements are `xml.etree.ElementTree` elements without a namespace prefix, so a text or
an attribute can never become markup. Attribute names are written the Python way (`stroke_width`,
`class_`, `aria_labelledby`) and come out the SVG way (`stroke-width`, `class`,
`aria-labelledby`); names that SVG itself writes in capitals (`viewBox`) are written as they are.
Style attributes and event handlers are refused: the pages' content security policy forbids
them, and the same drawing is also a file of its own and a picture in the PDF chart.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Collection
from functools import lru_cache
from itertools import groupby

SVG_NAMESPACE = "http://www.w3.org/2000/svg"

STROKE = ("stroke", "stroke-width")
FEWEST_TOGETHER = 3

Value = str | int | float
ViewBox = tuple[float, float, float, float]

# XML 1.0 (W3C Recommendation, fifth edition), production 2 "Char": all else can't stand in a file.
_FORBIDDEN_CHARACTERS = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """Write a coordinate in as few characters as two decimals need: `12`, `0.5`, `-3.25`."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def element(
    tag: str, text: str | None = None, /, *children: ET.Element, **attributes: Value | None
) -> ET.Element:
    """Make one element; attributes that are None are left out.

    >>> ET.tostring(element("circle", cx=1.50, r=2, stroke_width=0.125), encoding="unicode")
    '<circle cx="1.5" r="2" stroke-width="0.12" />'
    """
    made = ET.Element(tag)
    for name, value in attributes.items():
        if value is not None:
            made.set(_attribute_name(name), _attribute_text(value))
    if text is not None:
        made.text = _printable(text)
    made.extend(children)
    return made


def svg_root(
    view_box: ViewBox,
    *,
    title: str,
    desc: str | None = None,
    id_prefix: str,
    class_: str | None = None,
) -> ET.Element:
    """Start a drawing: one image for a screen reader, named by its title and description.

    `id_prefix` must be unique on the page; the ids of the title and the description begin with it.
    """
    title_id, desc_id = f"{id_prefix}-title", f"{id_prefix}-desc"
    root = element(
        "svg",
        xmlns=SVG_NAMESPACE,
        viewBox=" ".join(number(part) for part in view_box),
        role="img",
        aria_labelledby=title_id if desc is None else f"{title_id} {desc_id}",
        class_=class_,
    )
    root.append(element("title", title, id=title_id))
    if desc is not None:
        root.append(element("desc", desc, id=desc_id))
    return root


def render(root: ET.Element) -> str:
    """Write the drawing as text that can stand inside a page or in a file of its own."""
    return ET.tostring(root, encoding="unicode")


def shorten_for_page(drawn: str, *, unused_classes: Collection[str] = ()) -> str:
    """Write a drawing shorter, where it stands inside a page among many.

    Neighbours with the same stroke get it from a group; the namespace, which a page knows, and
    classes that no style sheet of a page asks for are left out.
    """
    root = ET.fromstring(drawn.replace(f' xmlns="{SVG_NAMESPACE}"', ""))
    parts = list(root)
    for part in parts:
        root.remove(part)
        if part.get("class") in unused_classes:
            del part.attrib["class"]
    for stroke, same in groupby(parts, _stroke_of):
        together = list(same)
        if len(together) < FEWEST_TOGETHER or None in stroke:
            root.extend(together)
            continue
        for part in together:
            for name in STROKE:
                del part.attrib[name]
        shared = {name: each or "" for name, each in zip(STROKE, stroke, strict=True)}
        ET.SubElement(root, "g", shared).extend(together)
    return ET.tostring(root, encoding="unicode")


def _stroke_of(part: ET.Element) -> tuple[str | None, ...]:
    return tuple(part.get(name) for name in STROKE)


@lru_cache(maxsize=512)
def _attribute_name(name: str) -> str:
    written = name.rstrip("_").replace("_", "-")
    if written == "style" or written.lower().startswith("on"):
        raise ValueError(f"The attribute {written!r} may not stand in a drawing.")
    return written


def _attribute_text(value: Value) -> str:
    return _printable(value) if isinstance(value, str) else number(value)


def _printable(text: str) -> str:
    return _FORBIDDEN_CHARACTERS.sub("", text)
