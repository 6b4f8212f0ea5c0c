"""One written note on a staff: clef, sign, notehead, ledger lines.

All staves share one view box, so in a grid notes never change their scale: it holds everything
from C3 to C7 in the treble clef on ledger lines, which is how clarinettists read (only a note
outside that range gets an octave sign). In a bass-clef part a note that would need more than three
ledger lines above is written in the treble clef, as parts do.

The pitch is written with the sign nearest to it; what is left over stands beside the note as a
figure in cents, at the note's height and to the right of the staff, where no line crosses it.

Conventions. One staff space is 10 units. A staff step is a line or space counted upwards from the
bottom line (0) to the top line (8). Line weights are those SMuFL's reference font gives: staff
lines 0.13 space, ledger lines 0.16 space and 0.4 space longer than the notehead on either side.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import dataclass

from analysis.pitch import (
    STEIN_ZIMMERMANN,
    AccidentalSign,
    NoteNames,
    SignSystem,
    WrittenPitch,
    format_pitch,
    write_accidental,
)
from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph, place_glyph
from webapp.drawing.plot import TEXT_FACE
from webapp.drawing.svg import ViewBox, element, render, svg_root

SPACE = 10.0
STAFF_VIEW_BOX: ViewBox = (0, -4, 126, 198)
WIDTH_WITHOUT_FIGURE = 90.0
_BOTTOM_LINE_Y = 120.0
_CLEF_X, _NOTE_X = 5.0, 60.0
_ACCIDENTAL_GAP, _FIGURE_GAP, _LEDGER_REACH = 2.5, 5.0, 4.0
_STAFF_LINE, _LEDGER_LINE = 1.3, 1.6

_WHOLE_NOTE = 0xE0A2
_LETTERS = "CDEFGAB"
_LOWEST_STEP, _HIGHEST_STEP = -9, 19
_CLEF_REACH = (-3, 11)  # of the treble clef, the taller one
_ROOM_STEPS = 2  # for a sign, which is taller than its note
# Once an octave sign is needed at all, it brings the note down far enough to leave itself room.
_HIGHEST_STEP_UNDER_OCTAVE_SIGN = 18
_BASS_CLEF_TOP_STEP = 14
# Octaves moved, and the SMuFL octave sign that says so: 8va, 15ma, 22ma, 8vb, 15mb, 22mb. Three
# either way are enough for every octave that can be written (0 to 9).
_OCTAVE_SIGNS = {1: 0xE511, 2: 0xE515, 3: 0xE518, -1: 0xE51C, -2: 0xE51D, -3: 0xE51E}


@dataclass(frozen=True, slots=True)
class Clef:
    """A clef: its sign, the step its sign sits on, and the note of the bottom line."""

    codepoint: int
    sign_step: int
    bottom_letter: str
    bottom_octave: int

    def step_of(self, written: WrittenPitch) -> int:
        """How many lines and spaces a note lies above the bottom line."""
        letters = _LETTERS.index(written.letter) - _LETTERS.index(self.bottom_letter)
        return letters + 7 * (written.octave - self.bottom_octave)


CLEFS = {"treble": Clef(0xE050, 2, "E", 4), "bass": Clef(0xE062, 6, "G", 2)}


@dataclass(frozen=True, slots=True)
class StaffPlace:
    """Where a note is drawn: clef, step on the staff, and octaves an octave sign takes back."""

    clef: Clef
    step: int
    octaves_moved: int = 0


def place_on_staff(written: WrittenPitch, clef: str = "treble") -> StaffPlace:
    """Find clef, step and octave sign for a note."""
    chosen = CLEFS[clef]
    if clef == "bass" and chosen.step_of(written) > _BASS_CLEF_TOP_STEP:
        chosen = CLEFS["treble"]
    step, octaves = chosen.step_of(written), 0
    highest = _HIGHEST_STEP if step <= _HIGHEST_STEP else _HIGHEST_STEP_UNDER_OCTAVE_SIGN
    while step > highest:
        step, octaves = step - 7, octaves + 1
    while step < _LOWEST_STEP:
        step, octaves = step + 7, octaves - 1
    return StaffPlace(chosen, step, octaves)


def ledger_steps(step: int) -> tuple[int, ...]:
    """The steps that need a ledger line for a note on `step`.

    >>> ledger_steps(-2), ledger_steps(4), ledger_steps(11)
    ((-2,), (), (10,))
    """
    above = range(10, step + 1, 2)
    below = range(-2, step - 1, -2)
    return (*above, *below)


def describe_staff(
    written: WrittenPitch,
    *,
    style: SignSystem = STEIN_ZIMMERMANN,
    names: NoteNames = NoteNames.ENGLISH,
) -> str:
    """The staff in words: the pitch, and the sign with its figure where they differ from it.

    The words are the whole picture, for a reader who can't see it.
    """
    pitch = format_pitch(written.to_be_read(), names=names, style="words")
    sign = write_accidental(written, style)
    if not sign.figure:
        return pitch
    return f"{pitch}, written with {sign.name_in_words} and the figure {sign.figure}"


def draw_staff(
    written: WrittenPitch,
    *,
    style: SignSystem = STEIN_ZIMMERMANN,
    clef: str = "treble",
    names: NoteNames = NoteNames.ENGLISH,
    id_prefix: str = "staff",
    view_box: ViewBox = STAFF_VIEW_BOX,
    has_figure: bool = True,
) -> str:
    """Draw one note on its staff as SVG; all staves have the same view box unless one is given.

    Without `has_figure` the cents that the sign leaves out are left to the caller.
    """
    place = place_on_staff(written, clef)
    words = describe_staff(written, style=style, names=names)
    root = svg_root(view_box, title=words, id_prefix=id_prefix, class_="staff")
    note_right = _NOTE_X + _sign_width(_WHOLE_NOTE)
    root.append(_staff_lines(note_right + _LEDGER_REACH + 2))
    root.append(_sign(place.clef.codepoint, _CLEF_X, place.clef.sign_step))
    root.append(_ledger_lines(place.step, note_right))
    root.append(_sign(_WHOLE_NOTE, _NOTE_X, place.step))
    sign = write_accidental(written, style)
    if sign.is_shown:
        root.extend(_accidental(sign, place.step))
    if sign.figure and has_figure:
        x = note_right + _LEDGER_REACH + _FIGURE_GAP
        root.append(_figure(sign.figure, x, place.step))
    if place.octaves_moved:
        root.append(_octave_sign(place))
    return render(root)


def find_view_box(notes: Iterable[tuple[WrittenPitch, str]]) -> ViewBox:
    """Find a view box for several notes with their clefs, no taller than they and the clef need."""
    _, top, width, height = STAFF_VIEW_BOX
    places = [place_on_staff(written, clef) for written, clef in notes]
    if any(each.octaves_moved for each in places):
        return STAFF_VIEW_BOX
    steps = [each.step for each in places]
    highest = max(_CLEF_REACH[1], *steps, 0) + _ROOM_STEPS
    lowest = min(_CLEF_REACH[0], *steps, 0) - _ROOM_STEPS
    from_y, to_y = max(_step_y(highest), top), min(_step_y(lowest), top + height)
    return (0, from_y, width, to_y - from_y)


def find_middle_y() -> float:
    """Find where the middle line of a staff lies in its view box."""
    return _step_y(4)


def _step_y(step: float) -> float:
    return _BOTTOM_LINE_Y - step * SPACE / 2


def _sign_width(codepoint: int) -> float:
    return load_glyph(codepoint).width * SPACE / UNITS_PER_STAFF_SPACE


def _sign(codepoint: int, x: float, step: float) -> ET.Element:
    return place_glyph(codepoint, x=x, y=_step_y(step), space=SPACE)


def _accidental(sign: AccidentalSign, step: int) -> list[ET.Element]:
    """The sign to the left of the notehead, its ink ending a fixed gap before it or its ledger."""
    edge = _NOTE_X - _ACCIDENTAL_GAP - (_LEDGER_REACH if ledger_steps(step) else 0.0)
    scale, drawn = SPACE / UNITS_PER_STAFF_SPACE, []
    for codepoint in reversed(sign.codepoints):
        glyph = load_glyph(codepoint)
        drawn.append(_sign(codepoint, edge - glyph.right * scale, step))
        edge -= glyph.right * scale + _ACCIDENTAL_GAP
    return drawn


def _line(x1: float, x2: float, step: int) -> ET.Element:
    y = _step_y(step)
    return element("line", x1=x1, y1=y, x2=x2, y2=y)


def _staff_lines(right: float) -> ET.Element:
    lines = (_line(1, right, step) for step in range(0, 9, 2))
    return element("g", None, *lines, stroke="currentColor", stroke_width=_STAFF_LINE)


def _ledger_lines(step: int, note_right: float) -> ET.Element:
    left, right = _NOTE_X - _LEDGER_REACH, note_right + _LEDGER_REACH
    lines = (_line(left, right, at) for at in ledger_steps(step))
    return element("g", None, *lines, stroke="currentColor", stroke_width=_LEDGER_LINE)


def _figure(text: str, x: float, step: int) -> ET.Element:
    return element(
        "text",
        text,
        x=x,
        y=_step_y(step) + 4.6,
        font_size=13,
        font_family=TEXT_FACE,
        fill="currentColor",
        class_="figure",
    )


def _octave_sign(place: StaffPlace) -> ET.Element:
    """The octave sign above a note that is moved down, below one that is moved up."""
    step = place.step + 2.2 if place.octaves_moved > 0 else place.step - 4.6
    return _sign(_OCTAVE_SIGNS[place.octaves_moved], _NOTE_X, step)
