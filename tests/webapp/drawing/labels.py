"""Labels as a drawing prints them: letters as text, signs as outlines of the music font."""

import xml.etree.ElementTree as ET
from collections.abc import Iterator

from webapp.drawing.glyphs import load_glyph

SVG = "{http://www.w3.org/2000/svg}"
_SIGNS = {load_glyph(code).path: sign for code, sign in ((0xE260, "♭"), (0xE262, "♯"))}


# The same signs as characters of the font of signs: SMuFL code points.
_CHARACTERS = {0xE260: "♭", 0xE261: "♮", 0xE262: "♯"}


def labels_of(root: ET.Element) -> list[str]:
    """All labels of a drawing, in the order in which they are drawn."""
    return list(_labels(root))


def _labels(root: ET.Element) -> Iterator[str]:
    for one in root:
        if one.tag == f"{SVG}text":
            yield "".join(one.itertext()).translate(_CHARACTERS)
        elif one.tag == f"{SVG}g" and one.find(f"{SVG}text") is not None:
            yield "".join(
                _SIGNS[part.attrib["d"]] if part.tag == f"{SVG}path" else part.text or ""
                for part in one
            )
