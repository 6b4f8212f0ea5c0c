"""The music signs are the ones their code points promise."""

import subprocess
import sys
from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.pitch import SIGN_SYSTEMS, SignSystem
from webapp.drawing.glyphs import MusicSignError, load_glyph, place_glyph
from webapp.drawing.own_outlines import OWN_OUTLINES

# Source of the code points: SMuFL 1.4, tables "Clefs", "Noteheads", "Standard accidentals",
# "Stein-Zimmermann accidentals", "Gould arrow quartertone accidentals", "Octaves".
SIGNS = {
    0xE050: "gClef",
    0xE062: "fClef",
    0xE0A2: "noteheadWhole",
    0xE260: "accidentalFlat",
    0xE262: "accidentalSharp",
    0xE280: "accidentalQuarterToneFlatStein",
    0xE281: "accidentalThreeQuarterTonesFlatZimmermann",
    0xE282: "accidentalQuarterToneSharpStein",
    0xE283: "accidentalThreeQuarterTonesSharpStein",
    0xE270: "accidentalQuarterToneFlatArrowUp",
    0xE271: "accidentalThreeQuarterTonesFlatArrowDown",
    0xE272: "accidentalQuarterToneSharpNaturalArrowUp",
    0xE273: "accidentalQuarterToneFlatNaturalArrowDown",
    0xE274: "accidentalThreeQuarterTonesSharpArrowUp",
    0xE275: "accidentalQuarterToneSharpArrowDown",
    0xE511: "ottavaAlta",
    0xE515: "quindicesimaAlta",
    0xE51C: "ottavaBassaVb",
    0xE51D: "quindicesimaBassaMb",
}


@pytest.mark.parametrize(("codepoint", "name"), SIGNS.items())
def test_each_sign_is_the_one_that_the_standard_names(codepoint: int, name: str) -> None:
    assert load_glyph(codepoint).name == name


@pytest.mark.parametrize("style", SIGN_SYSTEMS.values(), ids=lambda each: each.text)
def test_every_sign_of_every_system_has_its_outlines(style: SignSystem) -> None:
    sized = replace(style, stroked_flat_cents=Fraction(-50), filled_flat_cents=Fraction(-150))
    for sign, _ in sized.signs:
        assert tuple(load_glyph(each).name for each in sign.codepoints) == sign.smufl_names


@pytest.mark.parametrize("codepoint", OWN_OUTLINES)
def test_an_outline_of_our_own_is_no_larger_than_an_accidental_is(codepoint: int) -> None:
    # The tallest sign of the font that a clarinet part has is a natural with an arrow, 887 units.
    glyph = load_glyph(codepoint)
    assert 80 <= glyph.width <= 300
    assert 400 <= glyph.height <= 1000


def test_a_filled_flat_has_no_counter() -> None:
    assert load_glyph(0xE480).path.count("z") == 1
    assert load_glyph(0xE280).path.count("z") == 2


def test_a_notehead_is_one_staff_space_high() -> None:
    # SMuFL, "Metrics and glyph registration": one em (1000 units) is four staff spaces.
    assert load_glyph(0xE0A2).height == 250


def test_a_sign_is_turned_upright_and_scaled_to_the_staff() -> None:
    drawn = place_glyph(0xE262, x=3, y=4.5, space=10)

    assert drawn.get("transform") == "translate(3 4.5) scale(0.04 -0.04)"
    assert drawn.get("d") == load_glyph(0xE262).path


def test_a_sign_the_font_lacks_is_refused_by_its_number() -> None:
    with pytest.raises(MusicSignError, match=r"U\+F8FF"):
        load_glyph(0xF8FF)


def test_the_engraving_engine_is_never_loaded() -> None:
    # In a process of its own: other tests load the engine to compare with it.
    program = (
        "import sys; from webapp.drawing.glyphs import load_glyph; load_glyph(0xE050); "
        "sys.exit('verovio' in sys.modules)"
    )

    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
