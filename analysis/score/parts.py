"""Parts of a score as a player reads them: segments, bars, notes, and what has to be asked.

Bars are told apart by their index; the printed number is a label. Times are exact fractions of a
quarter note. A tie makes one note, a chord is one note with several pitches (a multiphonic), a
trill or tremolo one note with another beside it. Written pitch is what stands on the page,
sounding pitch what is heard; in equal temperament the one is the other plus the transposition.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from analysis.pitch import SoundingPitch, WrittenPitch
from analysis.score.settings import ReadingSettings
from analysis.score.sign_resolution import SignFlag


class TrillKind(StrEnum):
    """How two fingerings alternate within a note."""

    TRILL = "trill"
    TREMOLO = "tremolo"
    TIMBRAL = "timbral trill"
    """Another colour of the same pitch; there is no second note."""


class NoteFlag(StrEnum):
    """What else to know of how a note was read."""

    RESPELLED = "the letter would be altered by more than 250 cents; named anew"
    TRILL_ASSUMED = "the upper note of the trill is assumed"
    LONE_TREMOLO = "a tremolo without its second note"
    TIE_TO_NOWHERE = "a tie that leads to no note"


@dataclass(frozen=True, slots=True)
class PartNote:
    """One note to finger.

    `index` is its place in the part. `bar` is the index of the bar it begins in, `last_bar` of the
    bar that a tie carries it into. `onset` is counted from the start of the bar, `start` from the
    start of the part with every bar once; `duration` is 0 for a grace note. All three are in
    quarter notes. `chord` has all pitches of a multiphonic from low to high (then `written` is the
    lowest), else nothing. `is_slurred`: joined to the note before it, without a new attack.
    `trill_to` is the other note of a trill or tremolo. `dynamic` is what is in force, '' if nothing
    has been printed yet.
    """

    index: int
    bar: int
    last_bar: int
    onset: Fraction
    start: Fraction
    duration: Fraction
    written: WrittenPitch
    sounding: SoundingPitch
    segment: int
    chord: tuple[WrittenPitch, ...] = ()
    is_slurred: bool = False
    is_tied: bool = False
    is_grace: bool = False
    trill_kind: TrillKind | None = None
    trill_to: WrittenPitch | None = None
    fingerings: tuple[str, ...] = ()
    techniques: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()
    dynamic: str = ""
    has_fermata: bool = False
    flags: tuple[SignFlag | NoteFlag, ...] = ()

    @property
    def end(self) -> Fraction:
        """Where it ends, in quarter notes from the start of the part."""
        return self.start + self.duration


@dataclass(frozen=True, slots=True)
class PartBar:
    """A bar: its index, its printed number, its start and length in quarter notes."""

    index: int
    label: str
    start: Fraction
    length: Fraction


@dataclass(frozen=True, slots=True)
class PartSegment:
    """A stretch of the part for one instrument, from a place to the next segment.

    `transposition_cents` is what is added to written pitch; `is_stated`: the file says so.
    `instrument` is the name that the file has for it, '' if none.
    """

    index: int
    bar: int
    onset: Fraction
    transposition_cents: int
    is_stated: bool
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class PartSeam:
    """A transition that the order of bars does not show: from the one note to the other (indices).

    `reason` says why: repeat, next ending, da capo, dal segno, coda.
    """

    from_note: int
    to_note: int
    reason: str


@dataclass(frozen=True, slots=True)
class PartText:
    """Words at a place. `is_technique`: they say how to play, and no pitch is claimed for them."""

    bar: int
    onset: Fraction
    words: str
    is_technique: bool


@dataclass(frozen=True, slots=True)
class PartTempo:
    """The tempo from a place on, in quarter notes a minute; `is_printed` or else answered."""

    bar: int
    start: Fraction
    quarters_per_minute: Fraction
    is_printed: bool


class QuestionTopic(StrEnum):
    """What a file cannot say. Each is asked once a part."""

    PART = "part"
    PITCH = "pitch"
    ARROWS = "arrows"
    STROKED_SIGNS = "stroked signs"
    UNKNOWN_SIGNS = "unknown signs"
    SIGN_LASTS = "sign lasts"
    VOICE = "voice"
    TRILLS = "trills"
    TEMPO = "tempo"


@dataclass(frozen=True, slots=True)
class QuestionReading:
    """One answer, and what the notes in question would be under it.

    `settings` are those of the part with this answer in them, None where the player has to name a
    figure, a note or another part of the file. `written` and `sounding` are the first notes
    concerned.
    """

    answer: str
    words: str
    settings: ReadingSettings | None
    written: tuple[WrittenPitch, ...] = ()
    sounding: tuple[SoundingPitch, ...] = ()


@dataclass(frozen=True, slots=True)
class PartQuestion:
    """A question: the sentence, the bars concerned (indices), the answers, and which is assumed.

    `signs` are the names of unknown signs, as `ReadingSettings.sign_cents` takes them; `places` are
    the bar (index) and onset of each trill that is asked for, as `TrillAnswer` takes them.
    """

    topic: QuestionTopic
    words: str
    bars: tuple[int, ...]
    readings: tuple[QuestionReading, ...]
    assumed: str
    signs: tuple[str, ...] = ()
    places: tuple[tuple[int, Fraction], ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What was not read as notes: its kind, how many, and the indices of the bars, each once."""

    kind: str
    count: int
    bars: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PartRemark:
    """Something to know that is no question: a sentence, and the indices of the bars."""

    words: str
    bars: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ScorePart:
    """A part, read under `settings`."""

    number: int
    name: str
    title: str
    composer: str
    settings: ReadingSettings
    segments: tuple[PartSegment, ...]
    bars: tuple[PartBar, ...]
    notes: tuple[PartNote, ...]
    seams: tuple[PartSeam, ...] = ()
    texts: tuple[PartText, ...] = ()
    tempos: tuple[PartTempo, ...] = ()
    questions: tuple[PartQuestion, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    remarks: tuple[PartRemark, ...] = ()

    def duration_s(self, note: PartNote) -> float | None:
        """Return how long a note lasts in seconds; None where no tempo is known.

        The tempo at its start counts for all of it.
        """
        at = bisect_right(self.tempos, note.start, key=lambda tempo: tempo.start)
        if at == 0:
            return None
        length, tempo = note.duration, self.tempos[at - 1].quarters_per_minute
        # as exact as with fractions, and rounded once
        return 60 * length.numerator * tempo.denominator / (length.denominator * tempo.numerator)
