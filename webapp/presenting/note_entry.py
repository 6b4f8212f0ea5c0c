"""Entry of a note by touch: one staff with one note, what its signs are, and where it begins.

The page's script (`static/js/note-entry.js`) draws and moves the note; what it needs stands in one
attribute as JSON. Without scripts the same choices are plain fields.

Conventions. Sizes in the JSON are whole numbers of thirds of a thousandth of a cent, so that thirds
of a tone and thousandths of a cent stay exact. A step is a line or space of the staff, counted from
C0 upwards: C4 is 28. Positions of signs are in units of the staff drawing (`drawing.staff`).
"""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from flask import Flask
from markupsafe import Markup

from analysis.errors import AnalysisError
from analysis.pitch import (
    NoteNames,
    SignSystem,
    Transposition,
    Tuning,
    WrittenPitch,
    format_cents,
    format_pitch,
    name_letter,
    parse_pitch,
    signs,
    write_accidental,
)
from analysis.pitch.names import LETTERS
from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph
from webapp.drawing.staff import CLEFS, SPACE
from webapp.drawing.svg import SVG_NAMESPACE, element, render
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.rows import Instrument
from webapp.presenting.words import current_writing

UNITS_PER_CENT = 3000
_WHOLE_NOTE = 0xE0A2
_CONCERT_LOW, _CONCERT_HIGH = "D3", "C7"
_USUAL_TUNING_A_HZ = 440.0
_BEGIN = {"treble": "B4", "bass": "D3"}
_OCTAVES = range(2, 8)


@dataclass(frozen=True, slots=True)
class NoteEntry:
    """What the template needs: `data` for the script, `parts` to draw with, choices for fields."""

    data: str
    parts: Markup
    letters: tuple[tuple[str, str], ...]
    octaves: tuple[int, ...]
    signs: tuple[tuple[str, str], ...]


def register(app: Flask) -> None:
    """Give the templates their entry by touch."""
    app.jinja_env.globals.update(note_entry_of=note_entry_of)


def note_entry_of(field_id: str, text: str, instrument: Instrument | None) -> NoteEntry:
    """Return the entry for a field that holds `text`; without an instrument notes are as heard.

    Outlines have ids of this field, so that a page can have several entries.
    """
    writing = current_writing()
    clef = instrument.kind.clef if instrument else "treble"
    data = describe_view(
        field_id,
        text,
        writing,
        clef=clef,
        ends=_ends(instrument),
        transposition=instrument.transposition if instrument else Transposition(0),
        tuning=instrument.tuning if instrument else Tuning(_USUAL_TUNING_A_HZ),
    )
    sized = sorted(writing.accidentals.signs, key=lambda pair: pair[1])
    return NoteEntry(
        data=json.dumps(data, ensure_ascii=True),
        parts=Markup(_draw_parts(field_id, CLEFS[clef].codepoint, writing.accidentals)),
        letters=tuple((letter, name_letter(letter, writing.names)) for letter in LETTERS),
        octaves=tuple(_OCTAVES),
        signs=tuple((str(cents), f"{sign.words}{_tell(cents)}") for sign, cents in sized),
    )


def describe_view(
    field_id: str,
    text: str,
    writing: Writing,
    *,
    clef: str,
    ends: tuple[WrittenPitch, WrittenPitch],
    transposition: Transposition,
    tuning: Tuning,
) -> dict[str, object]:
    """Return what the script needs, ready for JSON; `ends` are the written range, both included."""
    system, names = writing.accidentals, writing.names
    sized = sorted(system.signs, key=lambda pair: pair[1])
    low, high = ({**_place(end), "name": format_pitch(end, names=names)} for end in ends)
    return {
        "signs": [_describe(sign, cents, field_id) for sign, cents in sized],
        "letters": [name_letter(letter, names) for letter in LETTERS],
        "clef": _glyph_id(field_id, CLEFS[clef].codepoint),
        "head": _glyph_id(field_id, _WHOLE_NOTE),
        "clefStep": CLEFS[clef].sign_step,
        "bottomStep": _step(CLEFS[clef].bottom_letter, CLEFS[clef].bottom_octave),
        "low": low,
        "high": high,
        "begin": _spell(_begin(text, clef, names, system), system),
        "transpositionCents": transposition.cents,
        "tuningAHz": tuning.a4_hz,
    }


def _tell(cents: Fraction) -> str:
    if not cents:
        return ""
    return f", {format_cents(float(cents), decimals=0 if cents.denominator == 1 else 1)}"


def _describe(sign: signs.Sign, cents: Fraction, field_id: str) -> dict[str, object]:
    scale = SPACE / UNITS_PER_STAFF_SPACE
    glyphs = [load_glyph(codepoint) for codepoint in sign.codepoints]
    return {
        "size": _units(cents),
        "words": "" if sign is signs.NATURAL else sign.words,
        "characters": "" if sign is signs.NATURAL else "".join(map(chr, sign.codepoints)),
        "glyphs": [
            {"id": _glyph_id(field_id, glyph.codepoint), "right": round(glyph.right * scale, 2)}
            for glyph in glyphs
            if sign is not signs.NATURAL
        ],
    }


def _units(cents: Fraction) -> int:
    return int(cents * UNITS_PER_CENT)


def _step(letter: str, octave: int) -> int:
    return 7 * octave + LETTERS.index(letter)


def _place(written: WrittenPitch) -> dict[str, object]:
    return {"step": _step(written.letter, written.octave), "size": _units(written.alter_cents)}


def _spell(written: WrittenPitch, system: SignSystem) -> dict[str, object]:
    read = written.to_be_read()
    sign = write_accidental(read, system)
    return {**_place(read), "sign": _units(sign.sign_cents)}


def _begin(text: str, clef: str, names: NoteNames, system: SignSystem) -> WrittenPitch:
    """The note of the field, where it holds one that can be read, else the middle of the staff."""
    try:
        # an empty text would be looked for in the words of every language
        read = parse_pitch(text, names=names, system=system) if text.strip() else None
    except AnalysisError:
        read = None
    if isinstance(read, WrittenPitch):
        return read
    return WrittenPitch.from_canonical(_BEGIN[clef])


def _ends(instrument: Instrument | None) -> tuple[WrittenPitch, WrittenPitch]:
    if instrument is None:
        low, high = _CONCERT_LOW, _CONCERT_HIGH
        return WrittenPitch.from_canonical(low), WrittenPitch.from_canonical(high)
    return instrument.lowest, instrument.top


def _glyph_id(field_id: str, codepoint: int) -> str:
    return f"{field_id}-{codepoint:x}"


def _draw_parts(field_id: str, clef: int, system: SignSystem) -> str:
    """Outlines that the script refers to; they have no size and show nothing themselves."""
    root = element(
        "svg", xmlns=SVG_NAMESPACE, width=0, height=0, class_="note-parts-drawn", aria_hidden="true"
    )
    parts = element("defs")
    codepoints = sorted(set(_codepoints(clef, system)))
    parts.extend(_outline(field_id, codepoint) for codepoint in codepoints)
    root.append(parts)
    return render(root)


def _codepoints(clef: int, system: SignSystem) -> Iterator[int]:
    yield from (clef, _WHOLE_NOTE)
    for sign, _ in system.signs:
        yield from sign.codepoints


def _outline(field_id: str, codepoint: int) -> ET.Element:
    scale = SPACE / UNITS_PER_STAFF_SPACE
    return element(
        "path",
        id=_glyph_id(field_id, codepoint),
        d=load_glyph(codepoint).path,
        transform=f"scale({scale:g} -{scale:g})",
        fill="currentColor",
    )
