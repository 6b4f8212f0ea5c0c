"""Accidental signs of score files by name, and what each stands for in cents.

Names: MusicXML 4.0, accidental-value; SMuFL 1.4, glyph names, where the name or the description of
a glyph states a size. Quarter and three-quarter signs, sori, koron and signs numbered by commas
have a stated size. Arrows and stroked signs have none that every school shares: the standards call
arrows quarter tones, others mean less. A comma of a numbered sign is 1/53 of the octave, the
syntonic comma 81:80, the septimal 64:63, the undecimal quarter tone 33:32, the tridecimal 27:26
(from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

_SMUFL = "smufl:"
ARROW_CENTS = Fraction(50)
"""What the standards call an arrow: a quarter tone."""
STROKED_CENTS = Fraction(50)
"""What a stroke through a flat most often means in new music: a quarter tone less than none."""


class SignKind(StrEnum):
    """Size of a sign, as far as it is known."""

    PLAIN = "plain"
    """A natural, sharps and flats."""
    STATED = "stated"
    """A size that the standard or SMuFL states."""
    ARROW = "arrow"
    """A plain sign with an arrow, whose size is the school's."""
    STROKED = "stroked"
    """A sharp or flat with a stroke, whose size is the school's."""
    UNKNOWN = "unknown"
    """No size is known."""


@dataclass(frozen=True, slots=True)
class ScoreSign:
    """A sign: `cents` from the natural, without what its arrow or stroke adds; `arrow` +1 or -1.

    Of a stroked sign `arrow` is the side of its whole alteration, and `cents` is 0.
    """

    name: str
    kind: SignKind
    cents: Fraction = Fraction(0)
    arrow: int = 0

    def size_cents(self, *, arrow_cents: Fraction, stroked_cents: Fraction) -> Fraction | None:
        """Return the alteration in cents under given sizes; None where no size is known."""
        if self.kind is SignKind.UNKNOWN:
            return None
        if self.kind is SignKind.ARROW:
            return self.cents + self.arrow * arrow_cents
        if self.kind is SignKind.STROKED:
            return self.arrow * stroked_cents
        return self.cents


_PLAIN = {
    "natural": 0, "sharp": 100, "flat": -100, "double-sharp": 200, "sharp-sharp": 200,
    "flat-flat": -200, "double-flat": -200, "natural-sharp": 100, "natural-flat": -100,
    "triple-sharp": 300, "triple-flat": -300,
}  # fmt: skip
_COMMA = Fraction(1200, 53)
_STATED = {
    "quarter-flat": Fraction(-50), "quarter-sharp": Fraction(50),
    "three-quarters-flat": Fraction(-150), "three-quarters-sharp": Fraction(150),
    "sori": Fraction(50), "koron": Fraction(-50),
    "sharp-1": _COMMA, "sharp-2": 2 * _COMMA, "sharp-3": 3 * _COMMA, "sharp-5": 5 * _COMMA,
    "flat-1": -_COMMA, "flat-2": -2 * _COMMA, "flat-3": -3 * _COMMA, "flat-4": -4 * _COMMA,
}  # fmt: skip
_STROKED = {
    "slash-quarter-sharp": 1, "slash-sharp": 1, "slash-flat": -1, "double-slash-flat": -1,
}  # fmt: skip
_ARROW = re.compile(r"(natural|sharp|flat|double-sharp|flat-flat)-(up|down)|arrow-(up|down)")

_BASES = {"DoubleFlat": -200, "Flat": -100, "Natural": 0, "Sharp": 100, "DoubleSharp": 200}
_COUNTS = {"One": 1, "Two": 2, "Three": 3, "Five": 5}
_SIDES = {"Flat": -1, "Sharp": 1, "Down": -1, "Up": 1, "Lower": -1, "Raise": 1}
_LIMITS = {
    "SeptimalComma": (64, 63), "UndecimalQuartertone": (33, 32), "TridecimalQuartertone": (27, 26),
}  # fmt: skip
_GLYPH_PLAIN = re.compile(r"(DoubleFlat|Flat|Natural|Sharp|DoubleSharp)(?:Arabic|EqualTempered)?")
_GLYPH_ARROW = re.compile(r"(?:Three|Five)?QuarterTones?(Flat|Sharp)(Natural)?Arrow(Up|Down)")
_GLYPH_BARE_ARROW = re.compile(r"Arrow(Up|Down)")
_GLYPH_NAMED = {
    "Koron": Fraction(-50), "Sori": Fraction(50), "NarrowReversedFlat": Fraction(-50),
    "NarrowReversedFlatAndFlat": Fraction(-150), "QuarterFlatEqualTempered": Fraction(-50),
    "QuarterSharpEqualTempered": Fraction(50), "TripleFlat": Fraction(-300),
    "TripleSharp": Fraction(300),
}  # fmt: skip


@lru_cache(maxsize=512)
def find_sign(name: str) -> ScoreSign | None:
    """Return what a sign of a score file stands for; None for no sign.

    SMuFL names follow 'smufl:'. A name that is not known is a sign of unknown size.

    >>> find_sign("quarter-flat").cents, find_sign("natural-up").arrow, find_sign("")
    (Fraction(-50, 1), 1, None)
    >>> str(find_sign("smufl:accidentalKoron").kind), str(find_sign("slash-flat").kind)
    ('stated', 'stroked')
    """
    if not name:
        return None
    if name.startswith(_SMUFL):
        return _find_glyph(name)
    arrow = _ARROW.fullmatch(name)
    if arrow:
        base = Fraction(_PLAIN[arrow[1]]) if arrow[1] else Fraction(0)
        return ScoreSign(name, SignKind.ARROW, base, 1 if name.endswith("up") else -1)
    if name in _STROKED:
        return ScoreSign(name, SignKind.STROKED, arrow=_STROKED[name])
    if name in _PLAIN or name in _STATED:
        kind = SignKind.PLAIN if name in _PLAIN else SignKind.STATED
        return ScoreSign(name, kind, Fraction(_PLAIN.get(name, _STATED.get(name, 0))))
    return ScoreSign(name, SignKind.UNKNOWN)


def _find_glyph(name: str) -> ScoreSign:
    glyph = name.removeprefix(_SMUFL).removeprefix("accidental")
    plain = _GLYPH_PLAIN.fullmatch(glyph)
    if plain:
        return ScoreSign(name, SignKind.PLAIN, Fraction(_BASES[plain[1]]))
    arrow = _GLYPH_ARROW.fullmatch(glyph)
    if arrow:
        return ScoreSign(name, SignKind.ARROW, _arrow_base(arrow), _SIDES[arrow[3]])
    bare = _GLYPH_BARE_ARROW.fullmatch(glyph)
    if bare:
        return ScoreSign(name, SignKind.ARROW, Fraction(0), _SIDES[bare[1]])
    cents = _stated_cents(glyph)
    if cents is None:
        return ScoreSign(name, SignKind.UNKNOWN)
    return ScoreSign(name, SignKind.STATED, cents)


def _arrow_base(arrow: re.Match[str]) -> Fraction:
    """The plain sign under an arrow, from the quarter tones that SMuFL names the two together."""
    quarters = 5 if arrow[0].startswith("Five") else 3 if arrow[0].startswith("Three") else 1
    whole = 50 * quarters * _SIDES[arrow[1]]
    return Fraction(whole - 50 * _SIDES[arrow[3]])


def _stated_cents(glyph: str) -> Fraction | None:
    """The size that the name of a glyph states, as its description does."""
    if glyph in _GLYPH_NAMED:
        return _GLYPH_NAMED[glyph]
    for pattern, read_size in _GLYPH_SIZES:
        found = re.fullmatch(pattern, glyph)
        if found:
            return read_size(found)
    return None


def _ratio_cents(numerator: int, denominator: int) -> Fraction:
    """The size of a ratio, to 0.001 cent."""
    return Fraction(round(1_200_000 * math.log2(numerator / denominator)), 1000)


# Patterns of glyph names, and the cents that each states; the first that fits counts.
_GLYPH_SIZES: tuple[tuple[str, Callable[[re.Match[str]], Fraction]], ...] = (
    (
        r"(DoubleFlat|Flat|Natural|Sharp|DoubleSharp)(One|Two|Three)Arrows?(Down|Up)",
        lambda found: (
            _BASES[found[1]] + _COUNTS[found[2]] * _SIDES[found[3]] * _ratio_cents(81, 80)
        ),
    ),
    (
        r"(Lower|Raise)(One|Two)(SeptimalComma|UndecimalQuartertone|TridecimalQuartertone)s?",
        lambda found: _SIDES[found[1]] * _COUNTS[found[2]] * _ratio_cents(*_LIMITS[found[3]]),
    ),
    (
        r"[A-Za-z]*?(One|Two)ThirdTones?(Flat|Sharp)[A-Za-z]*",
        lambda found: Fraction(200 * _COUNTS[found[1]] * _SIDES[found[2]], 3),
    ),
    (
        r"(One|Three|Five)?QuarterTones?(Flat|Sharp)[A-Z0-9]?[A-Za-z]*",
        lambda found: Fraction(50 * _COUNTS[found[1] or "One"] * _SIDES[found[2]]),
    ),
    (
        r"[A-Za-z]+?(\d{1,2})Twelfths(Flat|Sharp)",
        lambda found: Fraction(200 * int(found[1]) * _SIDES[found[2]], 12),
    ),
    (
        r"[A-Z][a-z]+(4|6|12)(Down|Up)",
        lambda found: Fraction(200 * _SIDES[found[2]], int(found[1])),
    ),
    (r"([1-5])Comma(Flat|Sharp)", lambda found: int(found[1]) * _SIDES[found[2]] * _COMMA),
)
