"""Strips: our own signs where the engraver kept room, nothing left of what made it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from fractions import Fraction
from itertools import pairwise

import pytest

from analysis.engraving import LineBar, LineNote, NoteLine, NoteRoom, SignRoom, engrave
from webapp.drawing.engraved_strip import EngravedStrip, draw_engraved_strip
from webapp.drawing.glyphs import load_glyph

QUARTER_FLAT, NATURAL = 0xE280, 0xE261  # SMuFL: reversed flat, natural


@pytest.fixture(scope="module")
def strip() -> EngravedStrip:
    notes = tuple(
        LineNote(f"n{place}", Fraction(place), Fraction(1), (("D", 5),), (room,), NoteRoom.DRAWING)
        for place, room in enumerate((SignRoom.ONE, SignRoom.NONE, SignRoom.ONE))
    )
    (system,) = engrave(NoteLine((LineBar(Fraction(3), notes, "7"),)), width_mm=120)
    signs = {"n0": ((QUARTER_FLAT,),), "n1": ((),), "n2": ((NATURAL,),)}
    return draw_engraved_strip(system, signs, title="Bar 7, engraved")


def test_signs_are_our_outlines_and_room_is_gone(strip: EngravedStrip) -> None:
    drawn = [each.get("d") for each in ET.fromstring(strip.svg).iter() if each.get("d")]
    assert drawn.count(load_glyph(QUARTER_FLAT).path) == 1
    assert drawn.count(load_glyph(NATURAL).path) == 1
    assert "WWWW" not in strip.svg
    assert "<style" not in strip.svg and "class=" not in strip.svg.partition("<defs")[2]


def test_notes_stand_apart_by_the_room_they_asked_for(strip: EngravedStrip) -> None:
    places = [strip.notes_mm[key] for key in ("n0", "n1", "n2")]
    assert all(b - a >= 12 for a, b in pairwise(places))
    assert 0 < places[0] < places[-1] < strip.width_mm == 120
    assert "Bar 7, engraved" in strip.svg and ">7<" in strip.svg
