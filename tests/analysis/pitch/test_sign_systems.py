"""Sign systems: what their signs mean, and that their text form loses nothing."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    SIGN_SYSTEMS,
    SignSystem,
    SystemId,
    UnknownSignSystem,
    nearest_accidental,
    signs,
)
from analysis.pitch.signs import Sign

ALL_SIGNS: list[Sign] = [each for each in vars(signs).values() if isinstance(each, Sign)]

# Code point and description of each glyph: SMuFL 1.4, metadata/glyphnames.json.
DESCRIPTIONS = {
    0xE260: "Flat", 0xE261: "Natural", 0xE262: "Sharp", 0xE263: "Double sharp",
    0xE264: "Double flat",
    0xE270: "Quarter-tone flat", 0xE271: "Three-quarter-tones flat",
    0xE272: "Quarter-tone sharp", 0xE273: "Quarter-tone flat",
    0xE274: "Three-quarter-tones sharp", 0xE275: "Quarter-tone sharp",
    0xE280: "Reversed flat (quarter-tone flat) (Stein)",
    0xE281: "Reversed flat and flat (three-quarter-tones flat) (Zimmermann)",
    0xE282: "Half sharp (quarter-tone sharp) (Stein)",
    0xE283: "One and a half sharps (three-quarter-tones sharp) (Stein)",
    0xE2A0: "1/12 tone low", 0xE2A1: "1/6 tone low", 0xE2A3: "1/12 tone high",
    0xE2A4: "1/6 tone high",
    0xE2C1: "Flat lowered by one syntonic comma", 0xE2C2: "Natural lowered by one syntonic comma",
    0xE2C3: "Sharp lowered by one syntonic comma", 0xE2C6: "Flat raised by one syntonic comma",
    0xE2C7: "Natural raised by one syntonic comma", 0xE2C8: "Sharp raised by one syntonic comma",
    0xE2CB: "Flat lowered by two syntonic commas", 0xE2CC: "Natural lowered by two syntonic commas",
    0xE2CD: "Sharp lowered by two syntonic commas", 0xE2D0: "Flat raised by two syntonic commas",
    0xE2D1: "Natural raised by two syntonic commas", 0xE2D2: "Sharp raised by two syntonic commas",
    0xE2DE: "Lower by one septimal comma", 0xE2DF: "Raise by one septimal comma",
    0xE2E2: "Lower by one undecimal quartertone", 0xE2E3: "Raise by one undecimal quartertone",
    0xE2E4: "Lower by one tridecimal quartertone", 0xE2E5: "Raise by one tridecimal quartertone",
    0xE442: "Bakiye (flat)", 0xE480: "Filled reversed flat (quarter-tone flat)",
}  # fmt: skip

# The accidental-value list of MusicXML 4.0 that has to do with these signs.
MUSICXML_VALUES = {
    "sharp", "natural", "flat", "double-sharp", "flat-flat", "quarter-flat", "quarter-sharp",
    "three-quarters-flat", "three-quarters-sharp", "sharp-down", "sharp-up", "natural-down",
    "natural-up", "flat-down", "flat-up", "slash-flat", "other",
}  # fmt: skip

# Each comma by its ratio: the sizes that the notation's legend gives, 1200 log2(ratio).
COMMAS = {
    "natural with arrow up": (81, 80),
    "septimal comma up": (64, 63),
    "undecimal quarter tone up": (33, 32),
    "tridecimal quarter tone up": (27, 26),
}


def sizes(system: SignSystem) -> dict[str, Fraction]:
    return {sign.words: cents for sign, cents in system.signs}


@pytest.mark.parametrize("sign", ALL_SIGNS, ids=lambda each: each.words)
def test_every_sign_is_a_glyph_that_the_standard_describes(sign: Sign) -> None:
    (codepoint,) = sign.codepoints
    described = DESCRIPTIONS[codepoint].casefold()
    direction = [word for word in ("low", "high", "rais", "flat", "sharp") if word in described]
    assert direction or codepoint == 0xE261


@pytest.mark.parametrize("system", SIGN_SYSTEMS.values(), ids=lambda each: each.text)
def test_no_sign_goes_against_what_its_description_says(system: SignSystem) -> None:
    """Of a sign that only lowers or only raises, the size has that direction."""
    for sign, cents in system.signs:
        if len(sign.codepoints) > 1:
            continue
        words = DESCRIPTIONS[sign.codepoints[0]].casefold()
        if words.startswith(("lower", "reversed", "quarter-tone flat", "three-quarter-tones flat")):
            assert cents < 0
        if words.startswith(("raise", "half", "quarter-tone sharp", "three-quarter-tones sharp")):
            assert cents > 0
        if words.startswith("natural "):
            assert (cents > 0) == ("raised" in words)


@pytest.mark.parametrize(
    ("codepoint", "fraction_of_a_tone"),
    [(0xE280, "-1/4"), (0xE282, "1/4"), (0xE281, "-3/4"), (0xE283, "3/4"), (0xE2A0, "-1/12"),
     (0xE2A1, "-1/6"), (0xE2A3, "1/12"), (0xE2A4, "1/6")],
)  # fmt: skip
def test_sizes_that_the_descriptions_name(codepoint: int, fraction_of_a_tone: str) -> None:
    twelfths = SIGN_SYSTEMS[SystemId.TWELFTH_TONES]
    found = {sign.codepoints: cents for sign, cents in twelfths.signs}
    assert found[codepoint,] == 200 * Fraction(fraction_of_a_tone)


def test_every_musicxml_name_is_in_its_list() -> None:
    assert {sign.musicxml_name for sign in ALL_SIGNS} == MUSICXML_VALUES


@pytest.mark.parametrize(("words", "ratio"), COMMAS.items())
def test_helmholtz_ellis_signs_have_the_size_of_their_comma(
    words: str, ratio: tuple[int, int]
) -> None:
    cents = sizes(SIGN_SYSTEMS[SystemId.HELMHOLTZ_ELLIS])[words]
    assert cents == pytest.approx(1200 * math.log2(ratio[0] / ratio[1]), abs=0.0005)


@pytest.mark.parametrize(
    ("system", "up"),
    [
        ("arrows-quarter", Fraction(50)),
        ("arrows", Fraction(25)),
        ("arrows-sixth", Fraction(100, 3)),
        ("arrows-own arrow=33", Fraction(33)),
        ("arrows-own arrow=17", Fraction(17)),
        ("arrows-own arrow=43/2", Fraction(43, 2)),
    ],
)
def test_an_arrow_means_what_the_system_says(system: str, up: Fraction) -> None:
    found = sizes(SignSystem.from_text(system))
    assert found["natural with arrow up"] == up
    assert found["natural with arrow down"] == -up


def test_double_arrows_are_the_larger_step() -> None:
    found = sizes(SignSystem.from_text("arrows-double arrow=25 double=50"))
    assert found["natural with arrow up"] == 25
    assert found["natural with two arrows up"] == 50
    assert found["flat with two arrows down"] == -150


def test_stroked_and_filled_flats_mean_what_the_player_says() -> None:
    system = SignSystem.from_text("stein-zimmermann stroked=-50 filled=-150")
    assert nearest_accidental(-50, system).name_in_words == "stroked flat"
    assert nearest_accidental(-150, system).name_in_words == "filled flat"
    assert nearest_accidental(50, system).name_in_words == "quarter-sharp"
    assert "stroked flat" not in sizes(SignSystem())


@pytest.mark.parametrize("system", SIGN_SYSTEMS.values(), ids=lambda each: each.text)
def test_the_legend_tells_each_sign_once_from_low_to_high(system: SignSystem) -> None:
    legend = system.legend()
    assert [cents for _, cents in legend] == sorted({cents for _, cents in legend})
    assert set(legend) <= set(system.signs)
    assert len(system.signs) - len(legend) == len(signs.ORDINARY)


@given(
    st.sampled_from(SystemId),
    st.none() | st.fractions(min_value=1, max_value=150, max_denominator=1000),
    st.none() | st.fractions(min_value=1, max_value=150, max_denominator=1000),
    st.none() | st.fractions(min_value=-200, max_value=-1, max_denominator=1000),
    st.none() | st.fractions(min_value=-200, max_value=-1, max_denominator=1000),
)
def test_the_text_form_reads_back(
    kind: SystemId,
    arrow: Fraction | None,
    double: Fraction | None,
    stroked: Fraction | None,
    filled: Fraction | None,
) -> None:
    system = SignSystem(kind, arrow, double, stroked, filled)
    assert SignSystem.from_text(system.text) == system
    assert len(system.text) <= 120  # the column it is kept in


@pytest.mark.parametrize(
    "text", ["", "signs", "arrows arrow", "arrows arrow=x", "arrows arrow=1/0", "arrows wings=3"]
)
def test_any_other_text_is_refused_with_the_choices(text: str) -> None:
    with pytest.raises(UnknownSignSystem, match="Use one of: stein-zimmermann"):
        SignSystem.from_text(text)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("arrows-own arrow=0", "Give 1 to 150"),
        ("arrows-double double=151", "Give 1 to 150"),
        ("stein-zimmermann stroked=50", "give -200 to -1"),
    ],
)
def test_a_size_out_of_range_is_refused_with_the_range(text: str, message: str) -> None:
    with pytest.raises(UnknownSignSystem, match=message):
        SignSystem.from_text(text)
