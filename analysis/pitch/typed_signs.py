"""Sizes of signs that are typed or pasted as characters: arrows, Unicode's and a music font's.

An arrow has no size of its own, so it is looked up in the player's system of signs, and where that
has no arrows several sizes are possible. Names of the characters: Unicode 15, block "Musical
Symbols" (U+1D12C flat up to U+1D131 sharp down); SMuFL as in `analysis.pitch.signs`.
"""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

from analysis.pitch import signs
from analysis.pitch.sign_systems import SIGN_SYSTEMS, SignSystem, SystemId
from analysis.pitch.signs import Sign

# What an arrow may mean where the player's system does not say it: the usual sizes.
_USUAL = (
    SIGN_SYSTEMS[SystemId.ARROWS_QUARTER],
    SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH],
    SIGN_SYSTEMS[SystemId.ARROWS_SIXTH],
    SignSystem(SystemId.ARROWS_DOUBLE, Fraction(25), Fraction(50)),
    SIGN_SYSTEMS[SystemId.ARROWS_DOUBLE],
)
_DOUBLE = "⇑⇓"
_UP = "↑⇑"

# By semitones of the ordinary sign, direction, and number of arrows.
_WITH_ARROWS: Mapping[tuple[int, int, int], Sign] = MappingProxyType(
    {
        (0, 1, 1): signs.NATURAL_UP, (0, -1, 1): signs.NATURAL_DOWN,
        (1, 1, 1): signs.SHARP_UP, (1, -1, 1): signs.SHARP_DOWN,
        (-1, 1, 1): signs.FLAT_UP, (-1, -1, 1): signs.FLAT_DOWN,
        (0, 1, 2): signs.NATURAL_TWO_UP, (0, -1, 2): signs.NATURAL_TWO_DOWN,
        (1, 1, 2): signs.SHARP_TWO_UP, (1, -1, 2): signs.SHARP_TWO_DOWN,
        (-1, 1, 2): signs.FLAT_TWO_UP, (-1, -1, 2): signs.FLAT_TWO_DOWN,
    }
)  # fmt: skip
_UNICODE: Mapping[str, Sign] = MappingProxyType(
    {
        "\U0001d12c": signs.FLAT_UP, "\U0001d12d": signs.FLAT_DOWN,
        "\U0001d12e": signs.NATURAL_UP, "\U0001d12f": signs.NATURAL_DOWN,
        "\U0001d130": signs.SHARP_UP, "\U0001d131": signs.SHARP_DOWN,
    }
)  # fmt: skip
# The commas of Helmholtz-Ellis have the look of arrows; in a system of arrows they are arrows.
_SAME_LOOK: Mapping[tuple[int, ...], tuple[int, ...]] = MappingProxyType(
    {
        comma.codepoints: arrow.codepoints
        for comma, arrow in (
            (signs.NATURAL_COMMA_UP, signs.NATURAL_UP), (signs.SHARP_COMMA_UP, signs.SHARP_UP),
            (signs.FLAT_COMMA_UP, signs.FLAT_UP), (signs.NATURAL_COMMA_DOWN, signs.NATURAL_DOWN),
            (signs.SHARP_COMMA_DOWN, signs.SHARP_DOWN), (signs.FLAT_COMMA_DOWN, signs.FLAT_DOWN),
        )
    }
)  # fmt: skip


def sizes_of_arrows(arrows: str, semitones: int, system: SignSystem | None) -> tuple[Fraction, ...]:
    """Return what arrows on an ordinary sign can mean, in cents from the natural.

    Empty where no system has them: on double sharps and flats, or up and down at once.

    >>> sizes_of_arrows("↑", 0, SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH])
    (Fraction(25, 1),)
    """
    directions = {1 if arrow in _UP else -1 for arrow in arrows}
    count = 2 if len(arrows) == 2 or arrows in _DOUBLE else 1
    sign = _WITH_ARROWS.get((semitones, directions.pop(), count))
    if sign is None or directions:
        return ()
    return _sizes(sign.codepoints, system)


def sizes_of_sign(character: str, system: SignSystem | None) -> tuple[Fraction, ...]:
    """Return what a sign pasted as a character can mean, in cents; empty for an unknown one.

    >>> sizes_of_sign("\ue280", None)
    (Fraction(-50, 1),)
    """
    known = _UNICODE.get(character)
    return _sizes(known.codepoints if known else tuple(map(ord, character)), system)


def _sizes(codepoints: tuple[int, ...], system: SignSystem | None) -> tuple[Fraction, ...]:
    if system is not None and (own := _size_in(codepoints, system)) is not None:
        return (own,)
    usual = [_size_in(codepoints, each) for each in _USUAL]
    every = usual if any(usual) else [_size_in(codepoints, each) for each in SIGN_SYSTEMS.values()]
    return tuple(dict.fromkeys(size for size in every if size is not None))


def _size_in(codepoints: tuple[int, ...], system: SignSystem) -> Fraction | None:
    sized = {
        _SAME_LOOK.get(each.codepoints, each.codepoints): cents for each, cents in system.all_signs
    }
    return sized.get(_SAME_LOOK.get(codepoints, codepoints))
