"""Settings of reading: the player's answers to what a file cannot say.

All of them together with a `PartTranscript` give a `Part`; the file is never needed again. None
means that a question has not been answered: then the part is read under the assumption that the
question names.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from analysis.pitch import WrittenPitch
from analysis.score.errors import UnsuitableSetting

LARGEST_SIGN_CENTS = 250
TOP, BOTTOM = "top", "bottom"
"""Answers to `voice` besides the name of a voice: the upper or the lower of two players."""


class SignLasts(StrEnum):
    """How long a sign that is not repeated holds."""

    BAR = "bar"
    """Through the bar, on its own line or space."""
    NOTE = "note"
    """For its note alone."""
    REPETITIONS = "repetitions"
    """For its note and the repetitions that follow it immediately within the bar."""


@dataclass(frozen=True, slots=True)
class TrillAnswer:
    """The upper (or lower) note of one trill, by its bar's index and its place in the bar."""

    bar: int
    onset: Fraction
    upper: WrittenPitch


@dataclass(frozen=True, slots=True)
class TempoAnswer:
    """The tempo from a bar on, in quarter notes a minute."""

    bar: int
    quarters_per_minute: Fraction


@dataclass(frozen=True, slots=True)
class ReadingSettings:
    """The answers for one part.

    `is_sounding`: the file's pitches are what is heard, not what is written. `transposition_cents`
    is added to written pitch where the file says nothing or is wrong. `arrow_cents` is what an
    arrow adds, `stroked_cents` what a stroked sharp or flat stands for in all, `sign_cents` the
    sizes of other signs by name. `voice` is a voice's name, `TOP` or `BOTTOM`. Raises
    `UnsuitableSetting` for a size beyond 250 cents.
    """

    is_sounding: bool | None = None
    transposition_cents: int | None = None
    arrow_cents: Fraction | None = None
    stroked_cents: Fraction | None = None
    sign_cents: tuple[tuple[str, Fraction], ...] = ()
    sign_lasts: SignLasts | None = None
    voice: str | None = None
    trills: tuple[TrillAnswer, ...] = ()
    tempos: tuple[TempoAnswer, ...] = ()

    def __post_init__(self) -> None:
        sizes = (self.arrow_cents, self.stroked_cents, *(cents for _, cents in self.sign_cents))
        for size in sizes:
            if size is not None and abs(size) > LARGEST_SIGN_CENTS:
                raise UnsuitableSetting(
                    f"No sign alters a note by {float(size):g} cents. Give at most "
                    f"{LARGEST_SIGN_CENTS} cents; a quarter tone is 50."
                )
