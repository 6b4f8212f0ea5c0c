"""Engraved page of the demo's piece: the part as its player would have it on paper, as PDF.

Our own engraving, as plain as a study's: staves with clef, notes with stems and signs, bar numbers,
dynamics and words. It tells where each note stands, so that the demo can mark it.

Conventions. Millimetres from the left and the top of an A4 page; a step is a line or space counted
upwards from the bottom line of the staff.
"""

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from itertools import accumulate

from analysis.pitch import STEIN_ZIMMERMANN, WrittenPitch, write_accidental
from analysis.score import PartBar, PartNote, ScorePart
from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph, place_glyph
from webapp.drawing.svg import SVG_NAMESPACE, element, render
from webapp.notebook.charts.pdf.fonts import load_shipped_fonts

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
_SIDE_MM, _TOP_MM, _SYSTEM_MM, _SPACE_MM = 18.0, 74.0, 52.0, 1.8
_WORDS_MM = 25.0  # above the staff, with room for drawings below
_CLEF_MM, _BARS_A_SYSTEM, _MARGIN_MM = 10.0, 4, 8.0
_TREBLE, _FLAG_UP, _FLAG_DOWN = 0xE050, 0xE240, 0xE241
_WHOLE, _HALF, _BLACK, _BAR_REST = 0xE0A2, 0xE0A3, 0xE0A4, 0xE4E3
_LETTERS, _BOTTOM_LINE = "CDEFGAB", 4 * 7 + 2  # E4
_STEM, _LINE, _LEDGER = 3.5, 0.13, 0.4  # staff spaces
_GAP_MM = 0.6
_FACE = "FiraGO"


@dataclass(frozen=True, slots=True)
class EngravedPage:
    """A page as PDF, and where each note of the part stands, by its index."""

    pdf: bytes
    places: dict[int, tuple[float, float]]


def engrave(part: ScorePart, day: date) -> EngravedPage:
    """Engrave a part that fits one page; the same part gives the same bytes."""
    import typst

    places: dict[int, tuple[float, float]] = {}
    root = element(
        "svg", viewBox=f"0 0 {WIDTH_MM:g} {HEIGHT_MM:g}", xmlns=SVG_NAMESPACE,
        width=f"{WIDTH_MM:g}mm", height=f"{HEIGHT_MM:g}mm",
    )  # fmt: skip
    root.append(_words(part.title, WIDTH_MM / 2, 30, 8, anchor="middle"))
    root.append(_words(part.composer, WIDTH_MM - _SIDE_MM, 42, 3.6, anchor="end"))
    root.append(_words(part.name, _SIDE_MM, 42, 3.6))
    for first in range(0, len(part.bars), _BARS_A_SYSTEM):
        top = _TOP_MM + first // _BARS_A_SYSTEM * _SYSTEM_MM
        bars = part.bars[first : first + _BARS_A_SYSTEM]
        root.extend(list(_engrave_system(part, bars, top, places)))
    template = (
        f"#set document(title: sys.inputs.title)\n#set page(width: {WIDTH_MM}mm, "
        f"height: {HEIGHT_MM}mm, margin: 0mm)\n#image(bytes(sys.inputs.svg), width: 100%)"
    )
    pdf = typst.compile(
        template.encode(),
        font_paths=load_shipped_fonts(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"svg": render(root), "title": part.title},
        timestamp=datetime.combine(day, time(), UTC),
    )
    return EngravedPage(pdf, places)


def _engrave_system(
    part: ScorePart, bars: tuple[PartBar, ...], top: float, places: dict[int, tuple[float, float]]
) -> Iterator[ET.Element]:
    """Engrave some bars on one staff, whose top line lies at `top`."""
    bottom = top + 4 * _SPACE_MM
    width = (WIDTH_MM - 2 * _SIDE_MM - _CLEF_MM) / _BARS_A_SYSTEM
    end = _SIDE_MM + _CLEF_MM + width * len(bars)
    for line in range(5):
        yield _line(_SIDE_MM, bottom - line * _SPACE_MM, end, bottom - line * _SPACE_MM, _LINE)
    yield place_glyph(_TREBLE, x=_SIDE_MM + 1, y=bottom - _SPACE_MM, space=_SPACE_MM)
    yield _words(bars[0].label, _SIDE_MM, top - 2, 3)
    for at, bar in enumerate(bars):
        start = _SIDE_MM + _CLEF_MM + at * width
        yield _line(start + width, top, start + width, bottom, _LINE)
        words = [each.words for each in part.texts if each.bar == bar.index]
        if words:
            yield _words("; ".join(words), start, top - _WORDS_MM, 3, is_italic=True)
        notes = [note for note in part.notes if note.bar == bar.index]
        if not notes:
            middle = start + width / 2
            yield place_glyph(_BAR_REST, x=middle, y=bottom - 3 * _SPACE_MM, space=_SPACE_MM)
        if notes and notes[0].dynamic != _loudness_before(part, notes[0]):
            yield _words(notes[0].dynamic, start + 2, bottom + 9, 3.6, is_italic=True)
        for note, share in zip(notes, _share_out(notes, bar), strict=True):
            x = start + _MARGIN_MM + share * (width - _MARGIN_MM)
            y = bottom - _step_of(note.written) * _SPACE_MM / 2
            places[note.index] = (x, min(y, top))
            yield from _engrave_note(note, x, y, bottom)


def _loudness_before(part: ScorePart, note: PartNote) -> str:
    return next((each.dynamic for each in part.notes if each.index == note.index - 1), "")


def _share_out(notes: Sequence[PartNote], bar: PartBar) -> list[float]:
    """Give each note of a bar its place from 0 to 1: the room grows as the root of the length."""
    rests = float(bar.length - sum(each.duration for each in notes))
    rooms = [math.sqrt(each.duration) for each in notes]
    whole = sum(rooms) + math.sqrt(max(rests, 0.0))
    return [room / whole for room in accumulate(rooms[:-1], initial=0.0)][: len(notes)]


def _engrave_note(note: PartNote, x: float, y: float, bottom: float) -> Iterator[ET.Element]:
    code = _WHOLE if note.duration >= 4 else _HALF if note.duration >= 2 else _BLACK
    scale = _SPACE_MM / UNITS_PER_STAFF_SPACE
    wide = load_glyph(code).right * scale
    step = _step_of(note.written)
    beyond = (*range(-2, step - 1, -2), *range(10, step + 1, 2))
    for each in beyond:
        at = bottom - each * _SPACE_MM / 2
        yield _line(x - _LEDGER * _SPACE_MM, at, x + wide + _LEDGER * _SPACE_MM, at, _LINE)
    yield place_glyph(code, x=x, y=y, space=_SPACE_MM)
    sign = write_accidental(note.written, STEIN_ZIMMERMANN)
    left = x
    for codepoint in reversed(sign.codepoints):
        left -= load_glyph(codepoint).right * scale + _GAP_MM
        yield place_glyph(codepoint, x=left, y=y, space=_SPACE_MM)
    if sign.figure:
        yield _words(sign.figure, x + wide + _GAP_MM, y + 0.9, 2.4)
    if note.duration < 4:
        is_up = step < 4
        stem_x = x + wide if is_up else x
        end = y - _STEM * _SPACE_MM if is_up else y + _STEM * _SPACE_MM
        yield _line(stem_x, y, stem_x, end, _LINE)
        if note.duration < 1:
            flag = _FLAG_UP if is_up else _FLAG_DOWN
            yield place_glyph(flag, x=stem_x, y=end, space=_SPACE_MM)
    if note.trill_to is not None:
        yield _words("tr", x, bottom - 4 * _SPACE_MM - 2.5, 3.6, is_italic=True)


def _step_of(written: WrittenPitch) -> int:
    return written.octave * 7 + _LETTERS.index(written.letter) - _BOTTOM_LINE


def _line(x1: float, y1: float, x2: float, y2: float, spaces: float) -> ET.Element:
    return element(
        "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="#000000",
        stroke_width=round(spaces * _SPACE_MM, 2),
    )  # fmt: skip


def _words(
    text: str, x: float, y: float, size: float, *, anchor: str = "start", is_italic: bool = False
) -> ET.Element:
    return element(
        "text", text, x=x, y=y, font_size=size, text_anchor=anchor, font_family=_FACE,
        font_style="italic" if is_italic else None,
    )  # fmt: skip
