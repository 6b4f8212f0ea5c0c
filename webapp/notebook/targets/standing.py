"""Standing of a fingering to a note: the only place that says in tune, near, elsewhere.

Where a fingering is known to sound decides, not what it was logged for. Offsets are counted in
cents from the note; what is compared with a bound is rounded to a tenth of a cent, as it is shown.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from analysis.pitch import Register, SoundingPitch, WrittenPitch, register_of
from webapp.notebook.store.rows import Circumstance, Instrument, Role


class Standing(StrEnum):
    """How a fingering stands to a note."""

    IN_TUNE = "in tune"
    NEAR = "near"
    ELSEWHERE = "elsewhere"
    NOT_TRIED = "not tried"
    SILENT = "does not speak"


@dataclass(frozen=True, slots=True)
class LipReach:
    """How far the lip can close a gap: a sharp fingering down, a flat one up, in cents."""

    sharp_cents: float
    flat_cents: float


# Common practice, from memory: a note is lipped down farther than up, in the altissimo farther both
# ways.
USUAL_REACH = LipReach(sharp_cents=25.0, flat_cents=10.0)
ALTISSIMO_REACH = LipReach(sharp_cents=40.0, flat_cents=15.0)


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


def note_of(instrument: Instrument, written: WrittenPitch, tolerance_cents: float) -> Note:
    """Return a note of an instrument, the reach of the lip by its register."""
    is_altissimo = register_of(instrument.kind.in_treble_notation(written)) is Register.ALTISSIMO
    return Note(
        written,
        instrument.transposition.to_sounding(written),
        tolerance_cents,
        ALTISSIMO_REACH if is_altissimo else USUAL_REACH,
    )


class Facts(NamedTuple):
    """What is known of a logged fingering, as far as judging it needs.

    `sounding_cents` is where it is measured to sound with the day's tuning taken out, or where it
    is meant to where nothing is measured.
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


@dataclass(frozen=True, slots=True)
class Judged:
    """A fingering as it stands to a note; the offset is None where nothing is measured."""

    facts: Facts
    standing: Standing
    offset_cents: float | None
    word: Word | None = None

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
    def is_solution(self) -> bool:
        """Whether the note is solved by it: in tune, or the player's own and near."""
        if self.is_rejected:
            return False
        return self.standing is Standing.IN_TUNE or (
            self.is_choice and self.standing is Standing.NEAR
        )


SERVING = (Standing.IN_TUNE, Standing.NEAR, Standing.NOT_TRIED)
"""How what may be played for a note stands to it."""


def judge(facts: Facts, note: Note, word: Word | None = None) -> Judged:
    """Say how a fingering stands to a note."""
    offset = facts.sounding_cents - note.sounding.cents if facts.is_measured else None
    return Judged(facts, _stand(facts, offset, note), offset, word)


def _stand(facts: Facts, offset_cents: float | None, note: Note) -> Standing:
    if facts.does_not_speak:
        return Standing.SILENT
    if offset_cents is None:
        return Standing.NOT_TRIED
    shown_cents = round(offset_cents, 1)
    if abs(shown_cents) <= note.tolerance_cents:
        return Standing.IN_TUNE
    if -note.reach.flat_cents <= shown_cents <= note.reach.sharp_cents:
        return Standing.NEAR
    return Standing.ELSEWHERE
