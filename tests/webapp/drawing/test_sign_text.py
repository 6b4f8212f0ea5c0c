"""Letters with music signs: where the signs stand, by the outlines of the music font.

A flat stands on the line of its letters, a sharp about the middle of the capitals, both about as
high as a capital: the rule of printed music books (common practice, from memory).
"""

import xml.etree.ElementTree as ET

import pytest

from webapp.drawing.glyphs import UNITS_PER_STAFF_SPACE, load_glyph
from webapp.drawing.sign_text import draw_runs, measure_runs, split_signs

SIZE, Y = 20.0, 100.0
CAPITAL = 0.689 * SIZE  # of the text face
FLAT, NATURAL, SHARP = 0xE260, 0xE261, 0xE262


def draw(*runs: str | int, anchor: str = "middle") -> ET.Element:
    return draw_runs(runs, x=0, y=Y, size=SIZE, fill="#000000", family="sans-serif", anchor=anchor)


def origin(sign: ET.Element) -> float:
    """The line about which a sign is drawn, y downwards."""
    return float(sign.attrib["transform"].split(")")[0].split()[1])


def ink(sign: ET.Element, codepoint: int) -> tuple[float, float]:
    """The top and the bottom of a drawn sign, y downwards."""
    y = origin(sign)
    glyph = load_glyph(codepoint)
    factor = float(sign.attrib["transform"].split("scale(")[1].split()[0])
    return y - (glyph.bottom + glyph.height) * factor, y - glyph.bottom * factor


def test_text_without_signs_is_one_text_element() -> None:
    made = draw(*split_signs("Gis"))
    assert (made.tag, made.text, made.get("text-anchor")) == ("text", "Gis", "middle")


@pytest.mark.parametrize("codepoint", [FLAT, NATURAL, SHARP, 0xE280, 0xE282])
def test_a_sign_is_an_outline_that_stands_by_its_letter(codepoint: int) -> None:
    group = draw("E", codepoint)
    sign = group.find("path")
    assert sign is not None
    top, bottom = ink(sign, codepoint)
    assert 0.9 * CAPITAL < bottom - top < 1.25 * CAPITAL
    if codepoint in {FLAT, 0xE280}:
        assert bottom == pytest.approx(Y, abs=0.2)
    else:
        assert origin(sign) == pytest.approx(Y - CAPITAL / 2, abs=0.01)
        assert top < Y - CAPITAL and bottom > Y
    assert (group.get("fill"), sign.get("fill")) == ("#000000", None)


def test_a_label_is_centred_with_its_sign() -> None:
    whole = measure_runs(("F", SHARP), SIZE)
    starts = draw("F", SHARP, anchor="start").find("text")
    centred = draw("F", SHARP).find("text")
    assert starts is not None and centred is not None
    assert float(starts.attrib["x"]) - float(centred.attrib["x"]) == pytest.approx(whole / 2, 0.01)
    assert whole > measure_runs(("F",), SIZE) + load_glyph(SHARP).width / UNITS_PER_STAFF_SPACE


def test_what_follows_a_sign_follows_it() -> None:
    letter, octave = draw("D", FLAT, "5", anchor="start").findall("text")
    assert (letter.text, octave.text) == ("D", "5")
    assert float(octave.attrib["x"]) > float(letter.attrib["x"])
