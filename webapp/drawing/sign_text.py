"""Text with music signs: letters in the text face, the signs as outlines of the music font.

A text face draws a sharp or a flat too small or too low, or not at all. Here a sign stands as in
print: a flat with its belly on the line of the letters, others about the middle of the capitals.

Conventions. A run is a text, or the SMuFL code point of a sign. Sizes and places are drawing units;
`y` is the line on which the letters stand. Widths of letters are those of the chart's text face,
FiraGO, in 1/1000 of the type size; another face shifts a label by a little, never a sign from its
letter.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence

from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph, place_glyph
from webapp.drawing.svg import element

Run = str | int

_SIGNS = {"♭": 0xE260, "♮": 0xE261, "♯": 0xE262}
_PARTS = re.compile(f"([{''.join(_SIGNS)}])")
# A sharp and a flat come out as high as 0.8 of the type size, a capital is 0.69 high.
_SPACE_SHARE, _HANGING_SPACE_SHARE = 0.285, 0.325
_CAPITAL_SHARE = 0.689
_GAP_SHARE = 0.05
_USUAL_WIDTH = 560
_WIDTHS = {
    "A": 573, "B": 608, "C": 560, "D": 644, "E": 535, "F": 491, "G": 631, "H": 680, "a": 544,
    "c": 477, "d": 590, "e": 544, "f": 335, "g": 520, "i": 276, "l": 294, "m": 850, "o": 584,
    "p": 586, "r": 383, "s": 467, "é": 544, "0": 558, "1": 433, "2": 495, "3": 499, "4": 532,
    "5": 501, "6": 533, "7": 444, "8": 551, "9": 525, " ": 265,
}  # fmt: skip


def split_signs(text: str) -> tuple[Run, ...]:
    """Part a text into its letters and its signs.

    >>> [run if isinstance(run, str) else hex(run) for run in split_signs("C♯/G♯")]
    ['C', '0xe262', '/G', '0xe262']
    """
    return tuple(_SIGNS.get(part, part) for part in _PARTS.split(text) if part)


def measure_runs(runs: Iterable[Run], size: float) -> float:
    """Find how wide runs are at a type size, gaps before and after signs included."""
    return sum(_width(run, size) for run in runs)


def write_runs(
    runs: Sequence[Run], *, x: float, y: float, size: float, fill: str, anchor: str
) -> ET.Element:
    """Write runs in the faces of the page, signs as characters of its font of signs.

    For drawings that a page repeats many times: an outline is a hundred times as long.
    """
    made = element("text", x=x, y=y, font_size=size, text_anchor=anchor, fill=fill)
    last: ET.Element | None = None
    for run in runs:
        if isinstance(run, int):
            last = element("tspan", chr(run), class_="sign")
            made.append(last)
        elif last is None:
            made.text = run
        else:
            last.tail = run
    return made


def draw_runs(
    runs: Sequence[Run], *, x: float, y: float, size: float, fill: str, family: str,
    anchor: str = "middle",
) -> ET.Element:  # fmt: skip
    """Draw runs on one line; `anchor` says what of them lies at `x`: start, middle or end.

    Runs without a sign come out as one text element, others as a group.
    """
    if not any(isinstance(run, int) for run in runs):
        text = "".join(str(run) for run in runs)
        return _text(text, x, y, size, anchor, fill=fill, font_family=family)
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * measure_runs(runs, size)
    left, parts = x - before, []
    for place, run in enumerate(runs):
        width = _width(run, size)
        if isinstance(run, int):
            parts.append(_sign(run, left + _GAP_SHARE * size, y, size))
        elif place + 1 < len(runs):  # ends where its sign begins, whatever the face
            parts.append(_text(run, left + width, y, size, "end", font_family=family))
        else:
            parts.append(_text(run, left, y, size, "start", font_family=family))
        left += width
    return element("g", None, *parts, fill=fill)


def _width(run: Run, size: float) -> float:
    if isinstance(run, str):
        return sum(_WIDTHS.get(letter, _USUAL_WIDTH) for letter in run) * size / 1000
    space = _space(run, size)
    return load_glyph(run).width * space / UNITS_PER_STAFF_SPACE + 2 * _GAP_SHARE * size


def _sign(codepoint: int, left: float, y: float, size: float) -> ET.Element:
    glyph, space = load_glyph(codepoint), _space(codepoint, size)
    scale = space / UNITS_PER_STAFF_SPACE
    up = -glyph.bottom * scale if _is_hanging(codepoint) else _CAPITAL_SHARE / 2 * size
    sign = place_glyph(codepoint, x=left - glyph.left * scale, y=y - up, space=space)
    del sign.attrib["fill"]  # that of the group
    return sign


def _space(codepoint: int, size: float) -> float:
    return (_HANGING_SPACE_SHARE if _is_hanging(codepoint) else _SPACE_SHARE) * size


def _is_hanging(codepoint: int) -> bool:
    """Whether the belly of a sign lies below its middle, as that of every flat does."""
    glyph = load_glyph(codepoint)
    return glyph.height + 2 * glyph.bottom > 0.2 * glyph.height


def _text(text: str, x: float, y: float, size: float, anchor: str, **attributes: str) -> ET.Element:
    return element("text", text, x=x, y=y, font_size=size, text_anchor=anchor, **attributes)
