"""Equal divisions of the octave: 12 semitones, 24 quarter tones, 48 eighth, 72 twelfth tones.

The grid always contains A4 = 6900, so the tuning note is a step of every division.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from analysis.pitch.errors import PitchOutOfRange
from analysis.pitch.names import Side
from analysis.pitch.written import WrittenPitch, round_to_millicent

_ANCHOR_CENTS = 6900
_MAX_STEPS = 1200


@dataclass(frozen=True, slots=True)
class EqualDivision:
    """An octave cut into equal steps; 1 to 1200 of them, else `PitchOutOfRange`.

    >>> EqualDivision(72).step_cents
    Fraction(50, 3)
    """

    steps_per_octave: int

    def __post_init__(self) -> None:
        if not 1 <= self.steps_per_octave <= _MAX_STEPS:
            raise PitchOutOfRange(
                f"An octave cannot be divided into {self.steps_per_octave} steps here. "
                f"Give 1 to {_MAX_STEPS}; quarter tones are 24."
            )

    @property
    def step_cents(self) -> Fraction:
        """The exact size of one step in cents."""
        return Fraction(1200, self.steps_per_octave)

    def nearest(self, cents: Fraction | float) -> Fraction:
        """Return the step nearest to a height in cents (A4 = 6900); halfway, the upper one.

        >>> EqualDivision(24).nearest(7362)
        Fraction(7350, 1)
        """
        exact = round_to_millicent(cents) if isinstance(cents, float) else Fraction(cents)
        steps = (exact - _ANCHOR_CENTS) / self.step_cents
        return _ANCHOR_CENTS + math.floor(steps + Fraction(1, 2)) * self.step_cents

    def between(
        self, low: WrittenPitch, high: WrittenPitch, side: Side = Side.NEAREST
    ) -> tuple[WrittenPitch, ...]:
        """Return all steps from `low` to `high`, both included where they are steps.

        Empty if `high` lies below `low`.

        >>> low, high = WrittenPitch.from_cents(7300), WrittenPitch.from_cents(7400)
        >>> [step.canonical for step in EqualDivision(24).between(low, high)]
        ['C#5', 'D5-50c', 'D5']
        """
        first = math.ceil((low.cents - _ANCHOR_CENTS) / self.step_cents)
        last = math.floor((high.cents - _ANCHOR_CENTS) / self.step_cents)
        return tuple(
            WrittenPitch.from_cents(_ANCHOR_CENTS + index * self.step_cents, side)
            for index in range(first, last + 1)
        )


QUARTER_TONES = EqualDivision(24)
