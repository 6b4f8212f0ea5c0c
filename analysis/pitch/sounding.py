"""Sounding pitch, and how an instrument's written pitch turns into it.

Sounding heights are cents with A4 = 6900 whatever the tuning, so that entries of one notebook stay
comparable; hertz appear only together with a `Tuning`. The formula is that of equal temperament,
f = A x 2^((cents - 6900) / 1200), with A4 = 440 Hz in ISO 16.
"""

import math
from dataclasses import dataclass
from typing import Self

from analysis.pitch.errors import PitchOutOfRange
from analysis.pitch.height_order import HeightOrder, require_same_kind
from analysis.pitch.names import Side
from analysis.pitch.tuning import Tuning
from analysis.pitch.written import WrittenPitch

A4_CENTS = 6900.0

# Wide enough for every writable note on every clarinet: about 2 Hz to 33 kHz.
_LOWEST_CENTS = -2400.0
_HIGHEST_CENTS = 14400.0


@dataclass(frozen=True, slots=True, eq=False)
class SoundingPitch(HeightOrder):
    """A pitch as it is heard: cents with A4 = 6900.0, independent of the tuning A.

    Raises `PitchOutOfRange` below -2400 or above 14400 cents, and for infinity and NaN.
    """

    cents: float

    def __post_init__(self) -> None:
        if not _LOWEST_CENTS <= self.cents <= _HIGHEST_CENTS:
            raise PitchOutOfRange(
                f"A sounding height of {self.cents:g} cents is no pitch that can be played. "
                f"Expected {_LOWEST_CENTS:g} to {_HIGHEST_CENTS:g}, where A4 is {A4_CENTS:g}."
            )

    def hz(self, tuning: Tuning) -> float:
        """Return the frequency in Hz at a tuning.

        >>> round(SoundingPitch(6850.0).hz(Tuning(440.0)), 2)
        427.47
        """
        return float(tuning.a4_hz * 2.0 ** ((self.cents - A4_CENTS) / 1200.0))

    @classmethod
    def from_hz(cls, hz: float, tuning: Tuning) -> Self:
        """Return the pitch of a frequency in Hz at a tuning.

        Raises `PitchOutOfRange` for anything that is not a positive, audible frequency.

        >>> SoundingPitch.from_hz(442.0, Tuning(442.0)).cents
        6900.0
        """
        if not (math.isfinite(hz) and hz > 0):
            raise PitchOutOfRange(f"{hz:g} Hz is no frequency. Give a number above 0.")
        return cls(A4_CENTS + 1200.0 * math.log2(hz / tuning.a4_hz))

    def interval_to(self, other: Self) -> float:
        """Return how many cents `other` lies above this pitch (negative if below).

        >>> SoundingPitch(6900.0).interval_to(SoundingPitch(6850.0))
        -50.0
        """
        return require_same_kind(self, other).cents - self.cents

    def __sub__(self, other: Self) -> float:
        return self.cents - require_same_kind(self, other).cents

    def _identity(self) -> tuple[float]:
        return (self.cents,)

    def _height_cents(self) -> float:
        return self.cents


@dataclass(frozen=True, slots=True)
class Transposition:
    """How far an instrument sounds from what is written, in cents (B-flat soprano: -200)."""

    cents: int

    def to_sounding(self, written: WrittenPitch) -> SoundingPitch:
        """Return what is heard when `written` is played.

        >>> Transposition(-200).to_sounding(WrittenPitch.from_canonical("B4")).cents
        6900.0
        """
        return SoundingPitch(float(written.cents + self.cents))

    def to_written(self, sounding: SoundingPitch, side: Side = Side.NEAREST) -> WrittenPitch:
        """Return what to write so that `sounding` is heard, to 0.001 cent.

        Raises `PitchOutOfRange` where that lies outside the writable octaves.

        >>> Transposition(-200).to_written(SoundingPitch(6900.0)).canonical
        'B4'
        """
        return WrittenPitch.from_cents(sounding.cents - self.cents, side)
