"""Picture of a fingering that leaves the notebook, with what a reader elsewhere has to know.

Above the keys stand, as far as they are wanted, the note on its staff, its name, how far the
fingering sounds from it, and the instrument. Black on white, nothing depends on colour, and all
signs are outlines of the music font. Lengths are drawing units, 240 across.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from analysis.keywork import KeyStates, format_fingering
from analysis.pitch import (
    STEIN_ZIMMERMANN,
    NoteNames,
    SignSystem,
    WrittenPitch,
    format_cents,
    format_pitch,
    name_letter,
    write_accidental,
)
from analysis.pitch.signs import ORDINARY
from webapp.drawing.fingering import FONT_FAMILY, describe_picture, draw_fingering
from webapp.drawing.fingering_shapes import INK
from webapp.drawing.sign_text import Run, draw_runs, measure_runs
from webapp.drawing.staff import STAFF_VIEW_BOX, describe_staff, draw_staff
from webapp.drawing.svg import SVG_NAMESPACE, element, render, svg_root

_SEMITONE_CENTS = 100
_STAFF_SCALE = 0.62
_MARGIN, _GAP = 6.0, 10.0
_NAME_SIZE, _CENTS_SIZE, _SMALL_SIZE = 26.0, 14.0, 11.0
_LINE_HEIGHT = 1.3
# A letter of the text face is some 0.55 of the type size wide.
_LETTER_SHARE = 0.55
_INSTRUMENT_LINES = 3


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands above the keys; `written` alone prints nothing.

    Attributes:
        written: the note that the fingering is for.
        has_staff, has_name: whether its staff and its name are printed.
        offset_cents, uncertainty_cents: how far it sounds from the note, and one standard
            deviation of that; nothing is printed without an offset.
        instrument: the words for the instrument, printed as they are.
        clef: of the instrument's parts.
        remarks: lines of small print below, such as a date, the set-up, the player's name.
    """

    written: WrittenPitch | None = None
    has_staff: bool = False
    has_name: bool = False
    offset_cents: float | None = None
    uncertainty_cents: float | None = None
    instrument: str = ""
    clef: str = "treble"
    remarks: tuple[str, ...] = ()


def draw_fingering_file(
    fingering: KeyStates,
    heading: Heading,
    *,
    base: KeyStates | None = None,
    is_reduced: bool = False,
    is_mirrored: bool = False,
    style: SignSystem = STEIN_ZIMMERMANN,
    names: NoteNames = NoteNames.ENGLISH,
    title: str | None = None,
) -> str:
    """Draw a fingering with its heading as SVG that stands alone.

    `title` names the picture; left out, the note and the text form do. Raises `DifferentLayouts`
    if the base belongs to another layout.
    """
    keys = draw_fingering(
        fingering,
        base=base,
        is_reduced=is_reduced,
        is_mirrored=is_mirrored,
        names=names,
        id_prefix="keys",
    )
    head, height = _head(heading, style, names)
    left, top, width, keys_height = fingering.layout.view_box
    root = svg_root(
        (left, top - height, width, keys_height + height),
        title=title or format_fingering(fingering),
        desc=_describe(fingering, base, heading, style, names),
        id_prefix="fingering",
        class_="fingering",
    )
    root.append(element("g", None, *head, transform=f"translate({left:g} {top - height:g})"))
    root.extend(_inside(keys))
    return render(root)


def _describe(
    fingering: KeyStates,
    base: KeyStates | None,
    heading: Heading,
    style: SignSystem,
    names: NoteNames,
) -> str:
    parts = [describe_picture(fingering, base)]
    if heading.written is not None and (heading.has_staff or heading.has_name):
        parts.insert(0, describe_staff(heading.written, style=style, names=names))
    if heading.offset_cents is not None:
        parts.append(_cents_words(heading))
    if heading.instrument:
        parts.append(heading.instrument)
    parts.extend(heading.remarks)
    return "; ".join(parts)


def _head(heading: Heading, style: SignSystem, names: NoteNames) -> tuple[list[ET.Element], float]:
    """Lay out what stands above the keys, from (0, 0) down, and find how high it is."""
    parts: list[ET.Element] = []
    left, height = _MARGIN, 0.0
    if heading.written is not None and heading.has_staff:
        parts.append(_staff(heading.written, heading.clef, style, names))
        left += STAFF_VIEW_BOX[2] * _STAFF_SCALE + _GAP
        height = STAFF_VIEW_BOX[3] * _STAFF_SCALE
    y = _MARGIN
    for runs, size in _lines(heading, style, names, 240.0 - left - _MARGIN):
        y += size
        parts.append(
            draw_runs(runs, x=left, y=y, size=size, fill=INK, family=FONT_FAMILY, anchor="start")
        )
        y += (_LINE_HEIGHT - 1) * size
    height = max(height, y if y > _MARGIN else 0.0)
    return parts, height


def _lines(
    heading: Heading, style: SignSystem, names: NoteNames, width: float
) -> Iterator[tuple[tuple[Run, ...], float]]:
    if heading.written is not None and heading.has_name:
        yield _name_runs(heading.written, style, names), _NAME_SIZE
    if heading.offset_cents is not None:
        yield (_cents_words(heading),), _CENTS_SIZE
    most = int(width / (_LETTER_SHARE * _SMALL_SIZE))
    for text in (heading.instrument, *heading.remarks):
        for line in wrap(text, most, max_lines=_INSTRUMENT_LINES, placeholder=" …"):
            yield (line,), _SMALL_SIZE


def _name_runs(written: WrittenPitch, style: SignSystem, names: NoteNames) -> tuple[Run, ...]:
    """Write the note's name: its letter in the player's language, its sign, its octave.

    German has words for sharps and flats (Fis, Es, and B for H flat), which it keeps; what is left
    over of a pitch stands behind as a figure in cents.
    """
    sign = write_accidental(written, style)
    figure = f" {sign.figure}" if sign.figure else ""
    if names is NoteNames.GERMAN and sign.sign in ORDINARY:
        letter = name_letter(written.letter, names, int(sign.sign_cents) // _SEMITONE_CENTS)
        return (letter, f"{written.octave}{figure}")
    signs: tuple[Run, ...] = sign.codepoints if sign.is_shown else ()
    return (name_letter(written.letter, names), *signs, f"{written.octave}{figure}")


def draw_name(
    written: WrittenPitch,
    *,
    style: SignSystem = STEIN_ZIMMERMANN,
    names: NoteNames = NoteNames.ENGLISH,
) -> str:
    """Draw the name of a note alone, on one line as high as its capitals and signs, as SVG."""
    words = format_pitch(written.to_be_read(), names=names, style="words")
    size, runs = _NAME_SIZE, _name_runs(written, style, names)
    width = measure_runs(runs, size)
    root = svg_root((0, 0, width, 1.1 * size), title=words, id_prefix="name")
    root.append(
        draw_runs(runs, x=0, y=0.9 * size, size=size, fill=INK, family=FONT_FAMILY, anchor="start")
    )
    return render(root)


def _cents_words(heading: Heading) -> str:
    assert heading.offset_cents is not None
    offset = format_cents(heading.offset_cents, decimals=0)
    if heading.uncertainty_cents is None:
        return f"sounds {offset} cents"
    return f"sounds {offset} ± {max(1, round(heading.uncertainty_cents))} cents"


def _staff(written: WrittenPitch, clef: str, style: SignSystem, names: NoteNames) -> ET.Element:
    drawn = draw_staff(written, style=style, clef=clef, names=names, id_prefix="note")
    top = -STAFF_VIEW_BOX[1] * _STAFF_SCALE
    transform = f"translate({_MARGIN:g} {top:g}) scale({_STAFF_SCALE:g})"
    return element("g", None, *_inside(drawn), transform=transform, color=INK)


def _inside(drawn: str) -> list[ET.Element]:
    """Take the shapes out of a drawing, without its own title and description."""
    root = ET.fromstring(drawn)
    for one in root.iter():
        one.tag = one.tag.removeprefix(f"{{{SVG_NAMESPACE}}}")
    return [one for one in root if one.tag not in {"title", "desc"}]
