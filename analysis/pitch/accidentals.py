"""Accidental signs by open standards: SMuFL glyphs, MusicXML and MEI names.

Two sets. Stein-Zimmermann has the usual signs for semitones and quarter tones. Arrows adds arrows
to them for eighth tones. SMuFL calls its arrow glyphs quarter-tone signs, so a page that uses them
prints a legend. Any other size is shown by the nearest sign with the rest in cents beside it.

Glyph names and code points: SMuFL, ranges "Standard accidentals" and "Gould arrow quartertone
accidentals" and "Stein-Zimmermann accidentals". Names in notation files: MusicXML 4.0
accidental-value; MEI data.ACCIDENTAL.WRITTEN.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from analysis.pitch.names import AccidentalStyle


@dataclass(frozen=True, slots=True)
class AccidentalSign:
    """The sign chosen for an alteration, and what it leaves out.

    `codepoint` is the SMuFL code point as a number (`chr(sign.codepoint)` is the character),
    `sign_cents` what the sign stands for, counted from the natural note, and `residual_cents` the
    rest to print beside it: alteration = sign_cents + residual_cents. `musicxml_name` and
    `mei_name` are what notation files call the sign.
    """

    smufl_name: str
    codepoint: int
    sign_cents: Fraction
    residual_cents: Fraction
    name_in_words: str
    musicxml_name: str
    mei_name: str


@dataclass(frozen=True, slots=True)
class _Glyph:
    cents: int
    codepoint: int
    smufl_name: str
    words: str
    musicxml_name: str
    mei_name: str


_STANDARD = (
    _Glyph(-200, 0xE264, "accidentalDoubleFlat", "double flat", "flat-flat", "ff"),
    _Glyph(-100, 0xE260, "accidentalFlat", "flat", "flat", "f"),
    _Glyph(0, 0xE261, "accidentalNatural", "natural", "natural", "n"),
    _Glyph(100, 0xE262, "accidentalSharp", "sharp", "sharp", "s"),
    _Glyph(200, 0xE263, "accidentalDoubleSharp", "double sharp", "double-sharp", "x"),
)
_QUARTER_TONES = (
    _Glyph(
        -150,
        0xE281,
        "accidentalThreeQuarterTonesFlatZimmermann",
        "three-quarters-flat",
        "three-quarters-flat",
        "3qf",
    ),
    _Glyph(-50, 0xE280, "accidentalQuarterToneFlatStein", "quarter-flat", "quarter-flat", "1qf"),
    _Glyph(50, 0xE282, "accidentalQuarterToneSharpStein", "quarter-sharp", "quarter-sharp", "1qs"),
    _Glyph(
        150,
        0xE283,
        "accidentalThreeQuarterTonesSharpStein",
        "three-quarters-sharp",
        "three-quarters-sharp",
        "3qs",
    ),
)
_ARROWS = (
    _Glyph(
        -125,
        0xE271,
        "accidentalThreeQuarterTonesFlatArrowDown",
        "flat with arrow down",
        "flat-down",
        "fd",
    ),
    _Glyph(-75, 0xE270, "accidentalQuarterToneFlatArrowUp", "flat with arrow up", "flat-up", "fu"),
    _Glyph(
        -25,
        0xE273,
        "accidentalQuarterToneFlatNaturalArrowDown",
        "natural with arrow down",
        "natural-down",
        "nd",
    ),
    _Glyph(
        25,
        0xE272,
        "accidentalQuarterToneSharpNaturalArrowUp",
        "natural with arrow up",
        "natural-up",
        "nu",
    ),
    _Glyph(
        75,
        0xE275,
        "accidentalQuarterToneSharpArrowDown",
        "sharp with arrow down",
        "sharp-down",
        "sd",
    ),
    _Glyph(
        125,
        0xE274,
        "accidentalThreeQuarterTonesSharpArrowUp",
        "sharp with arrow up",
        "sharp-up",
        "su",
    ),
)
_SETS: Mapping[AccidentalStyle, tuple[_Glyph, ...]] = MappingProxyType(
    {
        AccidentalStyle.STEIN_ZIMMERMANN: _STANDARD + _QUARTER_TONES,
        AccidentalStyle.ARROWS: _STANDARD + _QUARTER_TONES + _ARROWS,
    }
)


def nearest_accidental(alter_cents: Fraction | int, style: AccidentalStyle) -> AccidentalSign:
    """Return the sign nearest to an alteration from the natural note, and the rest in cents.

    Halfway between two signs, the one nearer to the natural is taken.

    >>> sign = nearest_accidental(Fraction(-62), AccidentalStyle.STEIN_ZIMMERMANN)
    >>> sign.name_in_words, hex(sign.codepoint), sign.residual_cents
    ('quarter-flat', '0xe280', Fraction(-12, 1))
    """
    glyph = min(_SETS[style], key=lambda glyph: (abs(alter_cents - glyph.cents), abs(glyph.cents)))
    return AccidentalSign(
        smufl_name=glyph.smufl_name,
        codepoint=glyph.codepoint,
        sign_cents=Fraction(glyph.cents),
        residual_cents=Fraction(alter_cents - glyph.cents),
        name_in_words=glyph.words,
        musicxml_name=glyph.musicxml_name,
        mei_name=glyph.mei_name,
    )


def musicxml_accidental(alter_cents: Fraction | int, style: AccidentalStyle) -> str:
    """Return the MusicXML `<accidental>` value of the nearest sign.

    >>> musicxml_accidental(25, AccidentalStyle.ARROWS)
    'natural-up'
    """
    return nearest_accidental(alter_cents, style).musicxml_name


def musicxml_alter(alter_cents: Fraction | int) -> str:
    """Return the MusicXML `<alter>` value: decimal semitones, six places where it never ends.

    >>> musicxml_alter(-50), musicxml_alter(Fraction(50, 3))
    ('-0.5', '0.166667')
    """
    semitones = Fraction(alter_cents) / 100
    return f"{float(semitones):z.6f}".rstrip("0").rstrip(".")
