"""Standing of a fingering to a note: the only place that says in tune, near, elsewhere.

Where a fingering is known to sound decides, not what it was logged for. Offsets are counted in
cents from the note; what is compared with a bound is rounded to a tenth of a cent, as it is shown.
The rule is written for arrays, since a notebook may hold very many fingerings; one fingering is an
array of one.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.finder.inputs import USUAL_LIP, LipReach, PlayersLip
from analysis.pitch import SoundingPitch, WrittenPitch, register_of
from webapp.notebook.store.rows import Circumstance, Instrument, Role


class Standing(StrEnum):
    """How a fingering stands to a note."""

    IN_TUNE = "in tune"
    NEAR = "near"
    ELSEWHERE = "elsewhere"
    NOT_TRIED = "not tried"
    SILENT = "does not speak"


STANDINGS = tuple(Standing)
"""Every standing; arrays of standings hold places in this."""
_NUMBER = {standing: number for number, standing in enumerate(STANDINGS)}


@dataclass(frozen=True, slots=True)
class Note:
    """A written note of one instrument, with what counts as in tune and as near for it."""

    written: WrittenPitch
    sounding: SoundingPitch
    tolerance_cents: float
    reach: LipReach

    @property
    def exact_cents(self) -> Fraction:
        """Its written cents, which key the player's choices."""
        return self.written.cents


def note_of(
    instrument: Instrument,
    written: WrittenPitch,
    tolerance_cents: float,
    lip: PlayersLip = USUAL_LIP,
) -> Note:
    """Return a note of an instrument, the reach of the lip by its register."""
    return Note(
        written,
        instrument.transposition.to_sounding(written),
        tolerance_cents,
        lip.find_reach(register_of(instrument.kind.in_treble_notation(written))),
    )


class Facts(NamedTuple):
    """What is known of a logged fingering, as far as judging it needs.

    `sounding_cents` is where it is measured to sound with the day's tuning taken out, or where it
    is meant to where nothing is measured. The texts are empty where they were not read.
    """

    fingering_id: int
    instrument_id: int
    keys_text: str
    target_text: str
    target_cents: float
    sounding_cents: float
    uncertainty_cents: float | None
    take_count: int
    failed_take_count: int
    spread_cents: float | None
    resistance: int | None
    ease: float | None
    has_half_hole: bool
    does_not_speak: bool
    speaks_softly: bool | None = None

    @property
    def is_measured(self) -> bool:
        """Whether at least one usable take stands behind it."""
        return self.take_count > 0


@dataclass(frozen=True, slots=True)
class Word:
    """The player's word on a fingering for a note: in what role, and when, if it is `mine`."""

    role: Role
    circumstances: tuple[Circumstance, ...] = ()
    reason: str = ""


SERVING = (Standing.IN_TUNE, Standing.NEAR, Standing.NOT_TRIED)
"""How what may be played for a note stands to it."""


class _Standing:
    """What follows from how a fingering stands to a note and from the player's word on it."""

    __slots__ = ()
    standing: Standing
    word: Word | None

    @property
    def is_choice(self) -> bool:
        """Whether the player said that this one is theirs for the note."""
        return self.word is not None and self.word.role is Role.MINE

    @property
    def is_rejected(self) -> bool:
        """Whether the player does not want it for the note."""
        return self.word is not None and self.word.role is Role.REJECTED

    @property
    def is_held_choice(self) -> bool:
        """Whether it is the player's own and still serves the note."""
        return self.is_choice and self.standing in SERVING

    @property
    def is_serving(self) -> bool:
        """Whether it may be played for the note."""
        return self.standing in SERVING and not self.is_rejected

    @property
    def is_solution(self) -> bool:
        """Whether the note is solved by it: in tune, or the player's own and near."""
        if self.is_rejected:
            return False
        return self.standing is Standing.IN_TUNE or (
            self.is_choice and self.standing is Standing.NEAR
        )


@dataclass(frozen=True, slots=True)
class Stance(_Standing):
    """How one or many fingerings stand to a note, whichever they are."""

    standing: Standing
    word: Word | None = None


@dataclass(frozen=True, slots=True)
class Judged(_Standing):
    """A fingering as it stands to a note; the offset is None where nothing is measured."""

    facts: Facts
    standing: Standing
    offset_cents: float | None
    word: Word | None = None


def judge(facts: Facts, note: Note, word: Word | None = None) -> Judged:
    """Say how one fingering stands to a note."""
    offset = facts.sounding_cents - note.sounding.cents if facts.is_measured else None
    (found,) = find_standings(
        np.array([np.nan if offset is None else offset]), np.array([facts.does_not_speak]), note
    )
    return Judged(facts, STANDINGS[found], offset, word)


def find_standings(
    offset_cents: NDArray[np.float64], does_not_speak: NDArray[np.bool_], note: Note
) -> NDArray[np.int8]:
    """Say how fingerings stand to a note.

    Args:
        offset_cents: shape (n,), how far each sounds from the note, NaN where nothing is measured.
        does_not_speak: shape (n,).
        note: the note, with its tolerance and the reach of the lip.

    Returns:
        Shape (n,), places in `STANDINGS`.
    """
    shown = round_as_shown(offset_cents)
    is_near = (shown >= -note.reach.flat_cents) & (shown <= note.reach.sharp_cents)
    found = np.full(len(shown), _NUMBER[Standing.ELSEWHERE], dtype=np.int8)
    found[is_near] = _NUMBER[Standing.NEAR]
    found[np.abs(shown) <= note.tolerance_cents] = _NUMBER[Standing.IN_TUNE]
    found[np.isnan(shown)] = _NUMBER[Standing.NOT_TRIED]
    found[does_not_speak] = _NUMBER[Standing.SILENT]
    return found


def round_as_shown(cents: NDArray[np.float64]) -> NDArray[np.float64]:
    """Round to a tenth of a cent as it is printed: as Python's `round(cents, 1)` does.

    Args:
        cents: shape (n,), any size; NaN stays.

    Returns:
        Shape (n,), cents.
    """
    tenths = 10.0 * cents
    shown: NDArray[np.float64] = np.rint(tenths) / 10.0
    # next to halfway the product may lie on the other side; there the exact value decides
    halfway = np.abs(np.abs(tenths - np.floor(tenths)) - 0.5) < _NEXT_TO_HALFWAY
    for place in np.flatnonzero(halfway):
        shown[place] = round(float(cents[place]), 1)
    return shown


_NEXT_TO_HALFWAY = 1e-6
