"""Alterations in score files: the decimals that exporters write, back to exact cents.

MusicXML 4.0 has `alter` in semitones as a decimal number, so a third or a seventh of a semitone is
cut off somewhere. A value within `SNAP_CENTS` of n/12, n/8, n/7 or n/5 of a semitone is that.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from analysis.notation.numbers import read_decimal

SNAP_CENTS = Fraction(5, 100)
# Twelfths hold halves, thirds, quarters and sixths of a semitone; the coarse ones are tried first.
_DENOMINATORS = (2, 3, 4, 12, 8, 7, 5)


@lru_cache(maxsize=1024)
def read_alter(text: str) -> Fraction | None:
    """Return the alteration in cents that `alter` states in semitones; None if it states none.

    A fraction such as '-1/3' is taken as it is; a decimal is snapped, or else rounded to 0.001
    cent.

    >>> read_alter("-0.5"), read_alter("0.333333"), read_alter("0.1667")
    (Fraction(-50, 1), Fraction(100, 3), Fraction(50, 3))
    >>> read_alter("-0.31174"), read_alter("two")
    (Fraction(-15587, 500), None)
    """
    numerator, slash, denominator = text.partition("/")
    semitones = read_decimal(numerator)
    if semitones is None:
        return None
    if slash:
        divisor = read_decimal(denominator)
        return 100 * semitones / divisor if divisor else None
    cents = 100 * semitones
    for parts in _DENOMINATORS:
        snapped = Fraction(100 * round(semitones * parts), parts)
        if abs(snapped - cents) < SNAP_CENTS:
            return snapped
    return Fraction(round(cents * 1000), 1000)


def write_alter(cents: Fraction) -> str:
    """Return the text that `read_alter` reads back exactly.

    >>> write_alter(Fraction(-50)), write_alter(Fraction(50, 3))
    ('-1/2', '1/6')
    """
    return str(cents / 100)


def is_microtone(cents: Fraction) -> bool:
    """Whether an alteration is no whole number of semitones."""
    return cents % 100 != 0
