"""Accidental signs by open standards: one printed sign, its glyphs and its names in files.

Glyph names and code points: SMuFL 1.4, ranges "Standard accidentals", "Gould arrow quartertone
accidentals", "Stein-Zimmermann accidentals", "Sims accidentals (72-EDO)", "Extended
Helmholtz-Ellis accidentals (just intonation)", "Arel-Ezgi-Uzdilek (AEU) accidentals" and "Other
accidentals". Names in
notation files: MusicXML 4.0 accidental-value; MEI 5 data.ACCIDENTAL.WRITTEN. What a sign means in
cents is no property of the sign: scores differ, so it stands in a sign system
(`analysis.pitch.sign_systems`).
"""

from dataclasses import dataclass

OTHER = "other"
"""The MusicXML value for a sign that the list does not name."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One printed sign before a note, of one glyph or of two side by side.

    `codepoints` are SMuFL code points from left to right; `words` what a reader calls it;
    `musicxml_name` is "other" and `mei_name` None where the format has no name for it.
    """

    codepoints: tuple[int, ...]
    smufl_names: tuple[str, ...]
    words: str
    musicxml_name: str = OTHER
    mei_name: str | None = None

    def before(self, base: "Sign") -> "Sign":
        """Return this sign with another one to its right; a natural is left out.

        >>> SEPTIMAL_LOWER.before(SHARP).words
        'sharp with septimal comma down'
        """
        if base is NATURAL:
            return self
        return Sign(
            self.codepoints + base.codepoints,
            self.smufl_names + base.smufl_names,
            f"{base.words} with {self.words}",
        )


def _sign(codepoint: int, name: str, words: str, xml: str = OTHER, mei: str | None = None) -> Sign:
    return Sign((codepoint,), (f"accidental{name}",), words, xml, mei)


DOUBLE_FLAT = _sign(0xE264, "DoubleFlat", "double flat", "flat-flat", "ff")
FLAT = _sign(0xE260, "Flat", "flat", "flat", "f")
NATURAL = _sign(0xE261, "Natural", "natural", "natural", "n")
SHARP = _sign(0xE262, "Sharp", "sharp", "sharp", "s")
DOUBLE_SHARP = _sign(0xE263, "DoubleSharp", "double sharp", "double-sharp", "x")

THREE_QUARTERS_FLAT = _sign(
    *(0xE281, "ThreeQuarterTonesFlatZimmermann", "three-quarters-flat"),
    *("three-quarters-flat", "3qf"),
)
QUARTER_FLAT = _sign(0xE280, "QuarterToneFlatStein", "quarter-flat", "quarter-flat", "1qf")
QUARTER_SHARP = _sign(0xE282, "QuarterToneSharpStein", "quarter-sharp", "quarter-sharp", "1qs")
THREE_QUARTERS_SHARP = _sign(
    *(0xE283, "ThreeQuarterTonesSharpStein", "three-quarters-sharp"),
    *("three-quarters-sharp", "3qs"),
)

STROKED_FLAT = _sign(0xE442, "BakiyeFlat", "stroked flat", "slash-flat", "bf")
FILLED_FLAT = _sign(0xE480, "QuarterToneFlatFilledReversed", "filled flat")

FLAT_DOWN = _sign(
    *(0xE271, "ThreeQuarterTonesFlatArrowDown", "flat with arrow down"),
    *("flat-down", "fd"),
)
FLAT_UP = _sign(0xE270, "QuarterToneFlatArrowUp", "flat with arrow up", "flat-up", "fu")
NATURAL_DOWN = _sign(
    *(0xE273, "QuarterToneFlatNaturalArrowDown", "natural with arrow down"),
    *("natural-down", "nd"),
)
NATURAL_UP = _sign(
    *(0xE272, "QuarterToneSharpNaturalArrowUp", "natural with arrow up"),
    *("natural-up", "nu"),
)
SHARP_DOWN = _sign(0xE275, "QuarterToneSharpArrowDown", "sharp with arrow down", "sharp-down", "sd")
SHARP_UP = _sign(
    *(0xE274, "ThreeQuarterTonesSharpArrowUp", "sharp with arrow up"),
    *("sharp-up", "su"),
)

FLAT_TWO_DOWN = _sign(0xE2CB, "FlatTwoArrowsDown", "flat with two arrows down")
FLAT_TWO_UP = _sign(0xE2D0, "FlatTwoArrowsUp", "flat with two arrows up")
NATURAL_TWO_DOWN = _sign(0xE2CC, "NaturalTwoArrowsDown", "natural with two arrows down")
NATURAL_TWO_UP = _sign(0xE2D1, "NaturalTwoArrowsUp", "natural with two arrows up")
SHARP_TWO_DOWN = _sign(0xE2CD, "SharpTwoArrowsDown", "sharp with two arrows down")
SHARP_TWO_UP = _sign(0xE2D2, "SharpTwoArrowsUp", "sharp with two arrows up")

FLAT_COMMA_DOWN = _sign(0xE2C1, "FlatOneArrowDown", "flat with arrow down")
FLAT_COMMA_UP = _sign(0xE2C6, "FlatOneArrowUp", "flat with arrow up")
NATURAL_COMMA_DOWN = _sign(0xE2C2, "NaturalOneArrowDown", "natural with arrow down")
NATURAL_COMMA_UP = _sign(0xE2C7, "NaturalOneArrowUp", "natural with arrow up")
SHARP_COMMA_DOWN = _sign(0xE2C3, "SharpOneArrowDown", "sharp with arrow down")
SHARP_COMMA_UP = _sign(0xE2C8, "SharpOneArrowUp", "sharp with arrow up")
SEPTIMAL_LOWER = _sign(0xE2DE, "LowerOneSeptimalComma", "septimal comma down")
SEPTIMAL_RAISE = _sign(0xE2DF, "RaiseOneSeptimalComma", "septimal comma up")
UNDECIMAL_LOWER = _sign(0xE2E2, "LowerOneUndecimalQuartertone", "undecimal quarter tone down")
UNDECIMAL_RAISE = _sign(0xE2E3, "RaiseOneUndecimalQuartertone", "undecimal quarter tone up")
TRIDECIMAL_LOWER = _sign(0xE2E4, "LowerOneTridecimalQuartertone", "tridecimal quarter tone down")
TRIDECIMAL_RAISE = _sign(0xE2E5, "RaiseOneTridecimalQuartertone", "tridecimal quarter tone up")

TWELFTH_DOWN = _sign(0xE2A0, "Sims12Down", "twelfth tone down")
SIXTH_DOWN = _sign(0xE2A1, "Sims6Down", "sixth of a tone down")
TWELFTH_UP = _sign(0xE2A3, "Sims12Up", "twelfth tone up")
SIXTH_UP = _sign(0xE2A4, "Sims6Up", "sixth of a tone up")

ORDINARY = (NATURAL, SHARP, FLAT, DOUBLE_SHARP, DOUBLE_FLAT)
