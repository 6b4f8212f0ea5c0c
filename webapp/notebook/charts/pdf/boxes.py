"""A font of last resort: one box per character, with the character's Unicode number inside it.

Made with fontTools from nothing but rectangles. Characters that are invisible by nature (joiners,
variation selectors) get an empty glyph without width.

Conventions. Font units, 1000 to the em, y upwards. Digits are hexadecimal on a grid of 3 by 5
dots; four stand in two rows of two, five or six in two rows of three.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fontTools.ttLib.tables._g_l_y_f import Glyph

BOX_FAMILY = "Quartervent Boxes"
_EM = 1000
_BOTTOM, _TOP, _SIDE, _LINE = -120, 780, 60, 45
_DOT = 60
_MADE = 0xD0000000  # any fixed moment, so that the same boxes have the same bytes
_DIGIT_STEP_X, _UPPER_ROW_Y, _LOWER_ROW_Y = 4 * _DOT, 370, -10
# Each digit from the top row down, three bits a row.
_DIGITS = dict(
    zip(
        "0123456789ABCDEF",
        (
            (7, 5, 5, 5, 7),
            (2, 6, 2, 2, 7),
            (7, 1, 7, 4, 7),
            (7, 1, 3, 1, 7),
            (5, 5, 7, 1, 1),
            (7, 4, 7, 1, 7),
            (7, 4, 7, 5, 7),
            (7, 1, 1, 2, 2),
            (7, 5, 7, 5, 7),
            (7, 5, 7, 1, 7),
            (2, 5, 7, 5, 5),
            (6, 5, 6, 5, 6),
            (3, 4, 4, 4, 3),
            (6, 5, 5, 5, 6),
            (7, 4, 6, 4, 7),
            (7, 4, 6, 4, 4),
        ),
        strict=True,
    )
)

Rectangle = tuple[int, int, int, int]


def build_box_font(codepoints: Iterable[int]) -> bytes:
    """Build a TrueType font with a box for each of these characters; same input, same bytes."""
    from fontTools.fontBuilder import FontBuilder

    shown = sorted(codepoints)
    names = [".notdef", *(f"u{codepoint:05X}" for codepoint in shown)]
    builder = FontBuilder(_EM, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap(dict(zip(shown, names[1:], strict=True)))
    builder.setupGlyf(
        {name: _draw(_rectangles(point)) for name, point in zip(names, [0, *shown], strict=True)}
    )
    widths = {name: (_width(point), 0) for name, point in zip(names, [0, *shown], strict=True)}
    builder.setupHorizontalMetrics(widths)
    builder.setupHorizontalHeader(ascent=_TOP + 100, descent=_BOTTOM - 100)
    # Without a PostScript name the typesetter's font list passes a font over in silence.
    postscript_name = BOX_FAMILY.replace(" ", "")
    builder.setupNameTable(
        {"familyName": BOX_FAMILY, "styleName": "Regular", "psName": postscript_name}
    )
    builder.setupOS2(sTypoAscender=_TOP, sTypoDescender=_BOTTOM, usWinAscent=_TOP)
    builder.setupPost()
    builder.font.recalcTimestamp = False
    builder.updateHead(created=_MADE, modified=_MADE)
    stream = BytesIO()
    builder.save(stream)
    return stream.getvalue()


def _is_invisible(codepoint: int) -> bool:
    category = unicodedata.category(chr(codepoint))
    return category in {"Cf", "Mn", "Zl", "Zp"} or 0xFE00 <= codepoint <= 0xFE0F


def _columns(codepoint: int) -> int:
    return 2 if codepoint <= 0xFFFF else 3


def _width(codepoint: int) -> int:
    if _is_invisible(codepoint):
        return 0
    return 2 * (_SIDE + _LINE + _DOT) + _columns(codepoint) * _DIGIT_STEP_X - _DOT


def _rectangles(codepoint: int) -> list[Rectangle]:
    if _is_invisible(codepoint):
        return []
    right = _width(codepoint) - _SIDE
    frame = [
        (_SIDE, _BOTTOM, right, _BOTTOM + _LINE),
        (_SIDE, _TOP - _LINE, right, _TOP),
        (_SIDE, _BOTTOM + _LINE, _SIDE + _LINE, _TOP - _LINE),
        (right - _LINE, _BOTTOM + _LINE, right, _TOP - _LINE),
    ]
    columns = _columns(codepoint)
    digits = f"{codepoint:0{2 * columns}X}"
    for index, digit in enumerate(digits):
        x = _SIDE + _LINE + _DOT + index % columns * _DIGIT_STEP_X
        y = _UPPER_ROW_Y if index < columns else _LOWER_ROW_Y
        frame.extend(_dots(digit, x, y))
    return frame


def _dots(digit: str, left: int, bottom: int) -> list[Rectangle]:
    dots = []
    for row, bits in enumerate(_DIGITS[digit]):
        y = bottom + (4 - row) * _DOT
        for column in range(3):
            if bits >> (2 - column) & 1:
                x = left + column * _DOT
                dots.append((x, y, x + _DOT, y + _DOT))
    return dots


def _draw(rectangles: list[Rectangle]) -> Glyph:
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    pen = TTGlyphPen(None)
    for left, bottom, right, top in rectangles:
        pen.moveTo((left, bottom))
        for corner in ((left, top), (right, top), (right, bottom)):
            pen.lineTo(corner)
        pen.closePath()
    return pen.glyph()
