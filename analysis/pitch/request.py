"""Requests for a pitch: a written note, a frequency, or a just interval over a note."""

from dataclasses import dataclass
from fractions import Fraction

from analysis.pitch.errors import PitchOutOfRange
from analysis.pitch.just_intervals import JustInterval
from analysis.pitch.names import LETTERS, NATURAL_CENTS, Side
from analysis.pitch.sounding import SoundingPitch, Transposition
from analysis.pitch.tuning import Tuning
from analysis.pitch.written import (
    MAX_OCTAVE,
    MAX_USUAL_ALTER_CENTS,
    WrittenPitch,
    round_to_millicent,
    split_alter,
)

LOWEST_HZ = 8.0
HIGHEST_HZ = 20_000.0

# Altered letters that nobody reads gladly when a plain one is to be had.
_UNUSUAL_NAMES = frozenset({("E", 1), ("B", 1), ("C", -1), ("F", -1)})


@dataclass(frozen=True, slots=True)
class Frequency:
    """A sounding frequency, 8 to 20,000 Hz; `PitchOutOfRange` otherwise.

    >>> Frequency(566.2).hz
    566.2
    """

    hz: float

    def __post_init__(self) -> None:
        if not LOWEST_HZ <= self.hz <= HIGHEST_HZ:
            raise PitchOutOfRange(
                f"{self.hz:g} Hz is no note of a clarinet. "
                f"Give {LOWEST_HZ:g} to {HIGHEST_HZ:,.0f} Hz."
            )


@dataclass(frozen=True, slots=True)
class JustTarget:
    """The note a just interval away from a written root; below it if the interval falls."""

    root: WrittenPitch
    interval: JustInterval


PitchRequest = WrittenPitch | Frequency | JustTarget


def resolve_written(
    request: PitchRequest,
    *,
    transposition: Transposition,
    tuning: Tuning,
    side: Side = Side.NEAREST,
) -> WrittenPitch:
    """Return the note that one instrument has to play for a request.

    A written pitch stays as it is spelled. A frequency is what is heard, so it goes through the
    tuning and the transposition. A just interval is added to its root in written pitch and rounded
    to 0.001 cent; under NEAREST it takes the letter its name asks for (a third is two letters up)
    unless that letter is an unusual one. Raises `PitchOutOfRange` outside the writable octaves.

    >>> target = JustTarget(WrittenPitch.from_canonical("F4"), JustInterval(5, 4))
    >>> resolve_written(
    ...     target, transposition=Transposition(-200), tuning=Tuning(440.0)
    ... ).alter_cents
    Fraction(-6843, 500)
    """
    if isinstance(request, WrittenPitch):
        return request
    if isinstance(request, Frequency):
        return transposition.to_written(SoundingPitch.from_hz(request.hz, tuning), side)
    cents = request.root.cents + round_to_millicent(request.interval.cents)
    if side is Side.NEAREST:
        named = _name_by_interval(cents, request)
        if named is not None:
            return named
    return WrittenPitch.from_cents(cents, side)


def _name_by_interval(cents: Fraction, target: JustTarget) -> WrittenPitch | None:
    """Return the height on the letter that the interval's name leads to, if it reads well."""
    steps = target.interval.staff_steps
    if steps is None:
        return None
    octaves, index = divmod(LETTERS.index(target.root.letter) + steps, len(LETTERS))
    letter, octave = LETTERS[index], target.root.octave + octaves
    alter_cents = cents - NATURAL_CENTS[letter] - 1200 * (octave + 1)
    semitones, _ = split_alter(alter_cents)
    if (
        (letter, semitones) in _UNUSUAL_NAMES
        or abs(alter_cents) > MAX_USUAL_ALTER_CENTS
        or not 0 <= octave <= MAX_OCTAVE
    ):
        return None
    return WrittenPitch(letter, alter_cents, octave)
