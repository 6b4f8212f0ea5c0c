"""A small font of the accidental signs, for notes in running text.

Built with fontTools from the outlines that the staves use (`glyphs`), under their SMuFL code
points. The outlines are under the SIL Open Font License, which keeps their source's name for their
source: this font has a name of its own.

Conventions. Font units, 1000 to the em, y upwards. A sign stands in the middle of a capital's
height and is larger than on a staff of the same em, or it would be lost beside letters.
"""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING

from analysis.pitch import SIGN_SYSTEMS, signs
from webapp.drawing.glyphs import Glyph, load_glyph

if TYPE_CHECKING:
    from fontTools.misc.psCharStrings import T2CharString

SIGN_FAMILY = "Quartervent Signs"
_EM, _ASCENT, _DESCENT = 1000, 950, -250
_SCALE, _CAPITAL_MIDDLE, _SIDE = 1.35, 345, 60
# The bowl of a flat hangs on its line and the stem rises from it; its middle lies this far up.
_FLAT_MIDDLE = 132
_FLAT_WORD = "flat"
_MADE = 0xD0000000  # any fixed moment, so that the same outlines have the same bytes


@lru_cache(maxsize=1)
def build_sign_font() -> bytes:
    """Build the font in OpenType form; the same outlines give the same bytes."""
    from fontTools.fontBuilder import FontBuilder

    glyphs = [load_glyph(codepoint) for codepoint in sorted(list_codepoints())]
    names = {f"u{glyph.codepoint:04X}": glyph for glyph in glyphs}
    builder = FontBuilder(_EM, isTTF=False)
    builder.setupGlyphOrder([".notdef", *names])
    builder.setupCharacterMap({glyph.codepoint: name for name, glyph in names.items()})
    outlines = {name: _draw(glyph) for name, glyph in names.items()}
    postscript_name = SIGN_FAMILY.replace(" ", "")
    builder.setupCFF(postscript_name, {}, {".notdef": _draw(None), **outlines}, {})
    widths = {name: (_width(glyph), _SIDE) for name, glyph in names.items()}
    builder.setupHorizontalMetrics({".notdef": (_EM, 0), **widths})
    builder.setupHorizontalHeader(ascent=_ASCENT, descent=_DESCENT)
    builder.setupNameTable(
        {"familyName": SIGN_FAMILY, "styleName": "Regular", "psName": postscript_name}
    )
    builder.setupOS2(sTypoAscender=_ASCENT, sTypoDescender=_DESCENT, usWinAscent=_ASCENT)
    builder.setupPost()
    builder.font.recalcTimestamp = False
    builder.updateHead(created=_MADE, modified=_MADE)
    stream = BytesIO()
    builder.save(stream)
    return stream.getvalue()


def list_codepoints() -> frozenset[int]:
    """Return the code points of every sign that any system of signs can write."""
    sized = (signs.STROKED_FLAT, signs.FILLED_FLAT, *signs.ORDINARY)
    written = (sign for system in SIGN_SYSTEMS.values() for sign, _ in system.signs)
    return frozenset(point for sign in (*sized, *written) for point in sign.codepoints)


def _width(glyph: Glyph) -> int:
    return round(glyph.width * _SCALE) + 2 * _SIDE


def _draw(glyph: Glyph | None) -> T2CharString:
    """The outline as a character string; without a sign it is empty."""
    from fontTools.pens.t2CharStringPen import T2CharStringPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.svgLib.path import parse_path

    pen = T2CharStringPen(_EM if glyph is None else _width(glyph), None)
    if glyph is not None:
        middle = _FLAT_MIDDLE if _is_flat(glyph) else 0
        right, up = _SIDE - glyph.left * _SCALE, _CAPITAL_MIDDLE - middle * _SCALE
        parse_path(glyph.path, TransformPen(pen, (_SCALE, 0, 0, _SCALE, right, up)))
    return pen.getCharString()


def _is_flat(glyph: Glyph) -> bool:
    """Whether a sign stands on a flat: by its name, but the natural lowered by an arrow."""
    name = glyph.name.casefold()
    return _FLAT_WORD in name and "natural" not in name
