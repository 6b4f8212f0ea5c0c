"""The sign before a note against the standards, by way of programs that implement them."""

import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from pathlib import Path

import pytest
import verovio
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    JUST_INTERVALS,
    SIGN_SYSTEMS,
    STEIN_ZIMMERMANN,
    AccidentalSign,
    Side,
    SignSystem,
    SystemId,
    WrittenPitch,
    list_just_figures,
    musicxml_accidental,
    musicxml_alter,
    nearest_accidental,
    write_accidental,
)
from tests.analysis.pitch.strategies import alters_cents

ARROWS = SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH]
STEIN_CENTS = (-200, -150, -100, -50, 0, 50, 100, 150, 200)
ARROW_CENTS = (-125, -75, -25, 25, 75, 125)

# Code points by cents from the natural: SMuFL 1.4, glyphnames.json.
CODE_POINTS = {
    -150: 0xE281, -125: 0xE271, -100: 0xE260, -75: 0xE270, -50: 0xE280, -25: 0xE273, 0: 0xE261,
    25: 0xE272, 50: 0xE282, 75: 0xE275, 100: 0xE262, 125: 0xE274, 150: 0xE283,
}  # fmt: skip

# MusicXML 4.0 accidental-value, and checked by rendering below.
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
    assert tuple(bravura_names[each] for each in sign.codepoints) == sign.sign.smufl_names


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
    assert set(sign.codepoints) <= draw_glyphs(engraver, source)


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
    assert set(sign.codepoints) <= draw_glyphs(engraver, source)


@pytest.mark.parametrize(("cents", "codepoint"), CODE_POINTS.items())
def test_code_points_by_size(cents: int, codepoint: int) -> None:
    assert nearest_accidental(cents, ARROWS).codepoints == (codepoint,)


@pytest.mark.parametrize(("cents", "name"), MUSICXML_NAMES.items())
def test_musicxml_names_by_size(cents: int, name: str) -> None:
    assert musicxml_accidental(cents, ARROWS) == name


@given(alters_cents, st.sampled_from(list(SIGN_SYSTEMS.values())))
def test_sign_and_rest_add_up_to_the_alteration(alter_cents: Fraction, style: SignSystem) -> None:
    sign = nearest_accidental(alter_cents, style)
    assert sign.sign_cents + sign.residual_cents == alter_cents
    assert bool(sign.figure) == (abs(sign.residual_cents) >= Fraction(1, 20))


@given(alters_cents, st.sampled_from(list(SIGN_SYSTEMS.values())))
def test_no_other_sign_is_nearer(alter_cents: Fraction, style: SignSystem) -> None:
    sign = nearest_accidental(alter_cents, style)
    assert abs(sign.residual_cents) == min(abs(alter_cents - cents) for _, cents in style.signs)


@pytest.mark.parametrize(
    ("alter_cents", "sign_cents", "figure"),
    [(25, 0, "+25"), (-25, 0, "−25"), (75, 100, "−25"), (-125, -100, "−25"), (12, 0, "+12"),
     (250, 200, "+50"), (Fraction(100, 3), 50, "−16.7")],
)  # fmt: skip
def test_quarter_tone_signs_show_other_sizes_with_a_figure(
    alter_cents: Fraction | int, sign_cents: int, figure: str
) -> None:
    sign = nearest_accidental(alter_cents, STEIN_ZIMMERMANN)
    assert sign.sign_cents == sign_cents
    assert sign.figure == figure


@pytest.mark.parametrize(
    ("kept", "words", "figure"),
    [
        ("F#5-25c", "sharp", "−25"),
        ("F#5-30c~100", "sharp", "−30"),
        ("F#5-30c~50", "quarter-sharp", "+20"),
        ("F#5-30c", "quarter-sharp", "+20"),
        ("D5-40c~0", "natural", "−40"),
        # a sign of another system is unknown here, so the nearest stands
        ("D5+30c~25", "quarter-sharp", "−20"),
        # what the system has a sign for is written by it
        ("D5-50c~0", "quarter-flat", ""),
    ],
)
def test_the_spelling_of_the_player_is_kept(kept: str, words: str, figure: str) -> None:
    sign = write_accidental(WrittenPitch.from_canonical(kept), STEIN_ZIMMERMANN)
    assert (sign.name_in_words, sign.figure) == (words, figure)


def test_a_note_is_respelled_on_request_only() -> None:
    written = WrittenPitch.from_canonical("F#5-30c~100")
    assert written.to_be_read().sign_cents == 100
    assert written.respelled(Side.NEAREST).sign_cents is None


@pytest.mark.parametrize("cents", ARROW_CENTS)
def test_arrows_show_eighth_tones_without_a_rest(cents: int) -> None:
    sign = nearest_accidental(cents, ARROWS)
    assert sign.residual_cents == 0
    assert "arrow" in sign.name_in_words


@pytest.mark.parametrize("interval", JUST_INTERVALS, ids=lambda each: each.name)
def test_a_just_interval_is_told_by_a_ratio_of_its_own_distance(interval: object) -> None:
    assert hasattr(interval, "cents")
    rest = round(interval.cents * 1000) % 100_000
    rest = Fraction(rest if rest < 50_000 else rest - 100_000, 1000)
    sign = nearest_accidental(rest, SIGN_SYSTEMS[SystemId.JUST])
    if abs(rest) < Fraction(1, 20):
        assert not sign.figure
    else:
        assert dict(list_just_figures())[sign.figure] == pytest.approx(rest, abs=0.05)


def test_without_a_ratio_of_that_size_cents_stand_beside_the_sign() -> None:
    just = SIGN_SYSTEMS[SystemId.JUST]
    # 5:4 lies 1200 log2(5/4) - 400 = -13.686 cents from the tempered third.
    assert nearest_accidental(Fraction(-13_686, 1000), just).figure == "5/4"
    assert nearest_accidental(-22, just).figure == "−22"


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
