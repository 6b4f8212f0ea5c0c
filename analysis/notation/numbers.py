"""Numbers in score files, read strictly: no exponents, no endless digits, no surprises."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

_DECIMAL = re.compile(r"[+-]?(?=[.0-9])[0-9]{0,9}(\.[0-9]{0,15})?", re.ASCII)
_INTEGER = re.compile(r"[+-]?[0-9]{1,9}", re.ASCII)


@lru_cache(maxsize=4096)
def read_decimal(text: str) -> Fraction | None:
    """Return a decimal number exactly, or None if it is none.

    >>> read_decimal("-0.5"), read_decimal("1e9"), read_decimal("")
    (Fraction(-1, 2), None, None)
    """
    if not _DECIMAL.fullmatch(text) or text in ("+.", "-.", "."):
        return None
    return Fraction(text.removesuffix("."))


def read_integer(text: str) -> int | None:
    """Return a whole number, or None if it is none; '-1.0' counts as whole.

    >>> read_integer("-2"), read_integer("-2.0"), read_integer("2.5"), read_integer("two")
    (-2, -2, None, None)
    """
    if _INTEGER.fullmatch(text):
        return int(text)
    number = read_decimal(text)
    return int(number) if number is not None and number.denominator == 1 else None
