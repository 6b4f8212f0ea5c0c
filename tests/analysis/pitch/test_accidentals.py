"""Accidental signs against the standards, by way of programs that implement them."""

import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from pathlib import Path

import pytest
import verovio
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    AccidentalSign,
    AccidentalStyle,
    musicxml_accidental,
    musicxml_alter,
    nearest_accidental,
)
from tests.analysis.pitch.strategies import alters_cents

STEIN = AccidentalStyle.STEIN_ZIMMERMANN
ARROWS = AccidentalStyle.ARROWS
STEIN_CENTS = (-200, -150, -100, -50, 0, 50, 100, 150, 200)
ARROW_CENTS = (-125, -75, -25, 25, 75, 125)

# Code points by cents from the natural: SMuFL specification, from memory.
CODE_POINTS = {
    -150: 0xE281, -125: 0xE271, -100: 0xE260, -75: 0xE270, -50: 0xE280, -25: 0xE273, 0: 0xE261,
    25: 0xE272, 50: 0xE282, 75: 0xE275, 100: 0xE262, 125: 0xE274, 150: 0xE283,
}  # fmt: skip

# MusicXML 4.0 accidental-value: from memory, and checked by rendering below.
MUSICXML_NAMES = {
    -200: "flat-flat", -150: "three-quarters-flat", -125: "flat-down", -100: "flat",
    -75: "flat-up", -50: "quarter-flat", -25: "natural-down", 0: "natural", 25: "natural-up",
    50: "quarter-sharp", 75: "sharp-down", 100: "sharp", 125: "sharp-up",
    150: "three-quarters-sharp", 200: "double-sharp",
}  # fmt: skip


def every_sign() -> list[AccidentalSign]:
    return [nearest_accidental(cents, ARROWS) for cents in (*STEIN_CENTS, *ARROW_CENTS)]


@pytest.fixture(scope="module")
def bravura_names() -> dict[int, str]:
    """Glyph names by code point of a SMuFL font that an independent engraver ships."""
    font = Path(verovio.__file__).parent / "data" / "Bravura.xml"
    glyphs = ET.parse(font).getroot().iter("g")
    return {int(glyph.attrib["c"], 16): glyph.attrib["n"] for glyph in glyphs}


@pytest.fixture(scope="module")
def engraver() -> verovio.toolkit:
    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def draw_glyphs(engraver: verovio.toolkit, source: str) -> set[int]:
    assert engraver.loadData(source)
    return {
        int(found, 16) for found in re.findall(r'href="#(E[0-9A-F]{3})', engraver.renderToSVG(1))
    }


@pytest.mark.parametrize("sign", every_sign(), ids=lambda sign: sign.name_in_words)
def test_glyph_names_and_code_points_agree_with_a_smufl_font(
    sign: AccidentalSign, bravura_names: dict[int, str]
) -> None:
    assert bravura_names[sign.codepoint] == sign.smufl_name


@pytest.mark.parametrize("sign", every_sign(), ids=lambda sign: sign.name_in_words)
def test_an_independent_engraver_draws_our_glyph_for_our_mei_name(
    sign: AccidentalSign, engraver: verovio.toolkit
) -> None:
    source = (
        '<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score><scoreDef>'
        '<staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef>'
        '<section><measure><staff n="1"><layer n="1">'
        f'<note pname="d" oct="5" dur="4" accid="{sign.mei_name}"/>'
        "</layer></staff></measure></section></score></mdiv></body></music></mei>"
    )
    assert sign.codepoint in draw_glyphs(engraver, source)


@pytest.mark.parametrize("sign", every_sign(), ids=lambda sign: sign.name_in_words)
def test_an_independent_engraver_draws_our_glyph_for_our_musicxml_name(
    sign: AccidentalSign, engraver: verovio.toolkit
) -> None:
    source = (
        '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1">'
        '<part-name/></score-part></part-list><part id="P1"><measure number="1"><attributes>'
        "<divisions>1</divisions><clef><sign>G</sign><line>2</line></clef></attributes><note>"
        f"<pitch><step>D</step><alter>{musicxml_alter(sign.sign_cents)}</alter>"
        "<octave>5</octave></pitch><duration>4</duration><type>whole</type>"
        f"<accidental>{sign.musicxml_name}</accidental></note></measure></part></score-partwise>"
    )
    assert sign.codepoint in draw_glyphs(engraver, source)


@pytest.mark.parametrize(("cents", "codepoint"), CODE_POINTS.items())
def test_code_points_by_size(cents: int, codepoint: int) -> None:
    assert nearest_accidental(cents, ARROWS).codepoint == codepoint


@pytest.mark.parametrize(("cents", "name"), MUSICXML_NAMES.items())
def test_musicxml_names_by_size(cents: int, name: str) -> None:
    assert musicxml_accidental(cents, ARROWS) == name


@given(alters_cents, st.sampled_from(AccidentalStyle))
def test_sign_and_rest_add_up_to_the_alteration(
    alter_cents: Fraction, style: AccidentalStyle
) -> None:
    sign = nearest_accidental(alter_cents, style)
    assert sign.sign_cents + sign.residual_cents == alter_cents


@given(alters_cents)
def test_no_other_sign_is_nearer(alter_cents: Fraction) -> None:
    sign = nearest_accidental(alter_cents, STEIN)
    assert abs(sign.residual_cents) == min(abs(alter_cents - cents) for cents in STEIN_CENTS)


@pytest.mark.parametrize(
    ("alter_cents", "sign_cents", "residual_cents"),
    [(25, 0, 25), (-25, 0, -25), (75, 50, 25), (-125, -100, -25), (12, 0, 12), (250, 200, 50)],
)
def test_stein_zimmermann_shows_eighth_tones_with_a_rest(
    alter_cents: int, sign_cents: int, residual_cents: int
) -> None:
    sign = nearest_accidental(alter_cents, STEIN)
    assert sign.sign_cents == sign_cents
    assert sign.residual_cents == residual_cents


@pytest.mark.parametrize("cents", ARROW_CENTS)
def test_arrows_show_eighth_tones_without_a_rest(cents: int) -> None:
    sign = nearest_accidental(cents, ARROWS)
    assert sign.residual_cents == 0
    assert "arrow" in sign.name_in_words


# MusicXML <alter> is in decimal semitones: MusicXML 4.0, from memory.
@pytest.mark.parametrize(
    ("alter_cents", "alter"),
    [
        (0, "0"),
        (100, "1"),
        (-200, "-2"),
        (-50, "-0.5"),
        (125, "1.25"),
        (Fraction(-50, 3), "-0.166667"),
        (Fraction(-1, 10**9), "0"),
    ],
)
def test_musicxml_alter_is_in_decimal_semitones(alter_cents: Fraction | int, alter: str) -> None:
    assert musicxml_alter(alter_cents) == alter
