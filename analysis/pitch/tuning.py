"""The tuning note: where the ensemble's A4 lies. It enters only where hertz do."""

from dataclasses import dataclass

from analysis.pitch.errors import TuningOutOfRange

LOWEST_A4_HZ = 390.0
HIGHEST_A4_HZ = 470.0


@dataclass(frozen=True, slots=True)
class Tuning:
    """The frequency of the sounding A4, 390 to 470 Hz; `TuningOutOfRange` otherwise.

    The range takes in historical pitches (392, 415, 430, 466 Hz: common practice, from memory) and
    modern ones.

    >>> Tuning(442.0).a4_hz
    442.0
    """

    a4_hz: float

    def __post_init__(self) -> None:
        if not LOWEST_A4_HZ <= self.a4_hz <= HIGHEST_A4_HZ:
            raise TuningOutOfRange(
                f"A = {self.a4_hz:g} Hz is outside {LOWEST_A4_HZ:g} to {HIGHEST_A4_HZ:g} Hz. "
                "Give the frequency that the ensemble tunes its A to, for example 440 or 442."
            )
