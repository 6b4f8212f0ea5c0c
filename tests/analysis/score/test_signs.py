"""Signs by name, and decimals back to fractions.

Sizes: MusicXML 4.0, accidental-value ("quarter-tone accidentals"; sori and koron as in SMuFL);
SMuFL 1.4, descriptions of the glyphs ("Raised by one syntonic comma", "1/12 tone sharp", ...).
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import SIGN_SYSTEMS, SystemId, nearest_accidental
from analysis.score.alterations import read_alter, write_alter
from analysis.score.signs import SignKind, find_sign

SIZES = {
    "natural": 0, "sharp": 100, "flat": -100, "double-sharp": 200, "sharp-sharp": 200,
    "flat-flat": -200, "natural-sharp": 100, "natural-flat": -100, "triple-flat": -300,
    "quarter-flat": -50, "quarter-sharp": 50, "three-quarters-flat": -150,
    "three-quarters-sharp": 150, "sori": 50, "koron": -50,
}  # fmt: skip
GLYPHS = {
    "accidentalQuarterToneSharp4": 50,
    "accidentalQuarterToneFlatArabic": -50,
    "accidentalThreeQuarterTonesSharpArabic": 150,
    "accidentalNarrowReversedFlat": -50,
    "accidentalNarrowReversedFlatAndFlat": -150,
    "accidentalQuarterSharpEqualTempered": 50,
    "accidentalFlatEqualTempered": -100,
    "accidentalSharpArabic": 100,
    "accidentalKoron": -50,
    "accidentalTripleSharp": 300,
}


@pytest.mark.parametrize("name", SIZES)
def test_signs_of_the_standard_have_their_size(name: str) -> None:
    sign = find_sign(name)
    assert sign is not None
    assert sign.kind in (SignKind.PLAIN, SignKind.STATED)
    assert sign.cents == SIZES[name]


@pytest.mark.parametrize("glyph", GLYPHS)
def test_glyphs_with_a_size_in_their_description_have_it(glyph: str) -> None:
    sign = find_sign(f"smufl:{glyph}")
    assert sign is not None
    assert sign.cents == GLYPHS[glyph]


@pytest.mark.parametrize(
    ("glyph", "cents"),
    [
        ("accidentalSharpTwoArrowsDown", 100 - 2 * 1200 * math.log2(81 / 80)),
        ("accidentalDoubleFlatOneArrowUp", -200 + 1200 * math.log2(81 / 80)),
        ("accidentalLowerOneSeptimalComma", -1200 * math.log2(64 / 63)),
        ("accidentalRaiseOneUndecimalQuartertone", 1200 * math.log2(33 / 32)),
        ("accidentalLowerOneTridecimalQuartertone", -1200 * math.log2(27 / 26)),
        ("accidental3CommaSharp", 3 * 1200 / 53),
        ("accidental1CommaFlat", -1200 / 53),
    ],
)
def test_commas_are_worked_out(glyph: str, cents: float) -> None:
    sign = find_sign(f"smufl:{glyph}")
    assert sign is not None and sign.kind is SignKind.STATED
    assert float(sign.cents) == pytest.approx(cents, abs=2e-3)


@pytest.mark.parametrize("sixths", range(1, 12))
def test_twelfths_of_a_tone_are_told_by_the_name(sixths: int) -> None:
    # an invented name on the pattern of SMuFL's range of twelfth tones
    sign = find_sign(f"smufl:accidentalInvented{sixths}TwelfthsFlat")
    assert sign is not None
    assert sign.cents == Fraction(-200 * sixths, 12)


@pytest.mark.parametrize(
    ("name", "base", "side"),
    [
        ("natural-up", 0, 1), ("natural-down", 0, -1), ("sharp-up", 100, 1),
        ("flat-down", -100, -1),
        ("double-sharp-down", 200, -1), ("flat-flat-up", -200, 1), ("arrow-down", 0, -1),
        ("smufl:accidentalQuarterToneFlatArrowUp", -100, 1),
        ("smufl:accidentalThreeQuarterTonesSharpArrowUp", 100, 1),
        ("smufl:accidentalThreeQuarterTonesFlatArrowUp", -200, 1),
        ("smufl:accidentalFiveQuarterTonesSharpArrowUp", 200, 1),
        ("smufl:accidentalQuarterToneSharpNaturalArrowUp", 0, 1),
        ("smufl:accidentalArrowDown", 0, -1),
    ],
)  # fmt: skip
def test_arrows_add_to_the_sign_under_them(name: str, base: int, side: int) -> None:
    sign = find_sign(name)
    assert sign is not None and sign.kind is SignKind.ARROW
    assert (int(sign.cents), sign.arrow) == (base, side)
    size = sign.size_cents(arrow_cents=Fraction(30), stroked_cents=Fraction(0))
    assert size == base + 30 * side


@pytest.mark.parametrize("alter_cents", range(-200, 201, 25))
def test_our_own_signs_mean_what_they_are_drawn_for(alter_cents: int) -> None:
    """A sign that the notebook draws is read back as that alteration, arrows as eighth tones."""
    drawn = nearest_accidental(alter_cents, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH])
    for name in (drawn.musicxml_name, f"smufl:{drawn.sign.smufl_names[0]}"):
        sign = find_sign(name)
        assert sign is not None
        size = sign.size_cents(arrow_cents=Fraction(25), stroked_cents=Fraction(50))
        assert size == drawn.sign_cents


@pytest.mark.parametrize("name", ["moon", "other", "smufl:accidentalMoon", "smufl:", "sharp-7"])
def test_other_names_are_of_unknown_size(name: str) -> None:
    sign = find_sign(name)
    assert sign is not None and sign.kind is SignKind.UNKNOWN


@given(st.integers(-24, 24), st.sampled_from([2, 3, 4, 5, 7, 8, 12]), st.integers(4, 9))
def test_any_fraction_that_exporters_cut_off_comes_back(
    numerator: int, denominator: int, places: int
) -> None:
    semitones = Fraction(numerator, denominator)
    assert read_alter(f"{float(semitones):.{places}f}") == 100 * semitones


@given(st.fractions(-3, 3, max_denominator=1000))
def test_an_alteration_of_our_own_is_read_exactly(semitones: Fraction) -> None:
    assert read_alter(write_alter(100 * semitones)) == 100 * semitones


@given(st.decimals(-3, 3, places=6))
def test_no_decimal_moves_by_more_than_the_snap(semitones: object) -> None:
    read = read_alter(f"{semitones:f}")
    assert read is not None
    assert abs(read - 100 * Fraction(str(semitones))) <= Fraction(5, 100)
