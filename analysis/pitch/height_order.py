"""Total order by height inside one kind of pitch, and a refusal between kinds.

A written D5 and a sounding D5 are different notes on most clarinets, so comparing or subtracting
them is always a mistake. It is refused with the line of code that was probably meant.
"""

from abc import abstractmethod
from fractions import Fraction
from typing import Self, TypeVar

PitchT = TypeVar("PitchT")


def require_same_kind(mine: PitchT, other: object) -> PitchT:
    """Return `other` if it is the same kind of pitch as `mine`; raise TypeError otherwise."""
    if isinstance(other, type(mine)):
        return other
    if isinstance(other, HeightOrder):
        raise TypeError(
            "Written and sounding pitch cannot be mixed. Convert one of them first: "
            "transposition.to_sounding(written) or transposition.to_written(sounding)."
        )
    raise TypeError(
        f"{type(mine).__name__} and {type(other).__name__} cannot be compared or subtracted. "
        f"Make both a {type(mine).__name__}, or use the .cents of the pitch."
    )


class HeightOrder:
    """Base of both kinds of pitch: comparisons work within one kind and refuse the other."""

    __slots__ = ()

    @abstractmethod
    def _identity(self) -> tuple[object, ...]:
        """Return what makes two pitches of one kind equal."""

    @abstractmethod
    def _height_cents(self) -> Fraction | float:
        """Return the height that the order goes by."""

    def __lt__(self, other: Self) -> bool:
        return self._height_cents() < require_same_kind(self, other)._height_cents()

    def __le__(self, other: Self) -> bool:
        return self._height_cents() <= require_same_kind(self, other)._height_cents()

    def __gt__(self, other: Self) -> bool:
        return self._height_cents() > require_same_kind(self, other)._height_cents()

    def __ge__(self, other: Self) -> bool:
        return self._height_cents() >= require_same_kind(self, other)._height_cents()

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, HeightOrder):
            return NotImplemented
        return self._identity() == require_same_kind(self, other)._identity()

    def __hash__(self) -> int:
        return hash((type(self), self._identity()))
