"""Contents of the music stand: targets, each with the fingerings to play for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from analysis.keywork import KeyStates, format_fingering
from analysis.pitch import Sentence, SoundingPitch, WrittenPitch
from webapp.notebook.finder.calibrating import AskedNote
from webapp.notebook.loops.figures import LoopFigure
from webapp.notebook.preferences.preferences import Writing
from webapp.notebook.store.rows import (
    Fingering,
    Instrument,
    LoopPair,
    Practice,
    PracticeTarget,
    Suggestion,
)
from webapp.notebook.targets.bases import StartingPoint
from webapp.notebook.targets.standing import Judged


@dataclass(frozen=True)
class Candidate:
    """A fingering to play for a target: logged, on the try list, or asked for by the first day."""

    fingering: Fingering | None
    suggestion: Suggestion | None
    target: SoundingPitch
    own_target: SoundingPitch
    judged: Judged | None = None
    asked: AskedNote | None = None

    @property
    def is_choice(self) -> bool:
        """Whether the player said that this one is theirs for the target."""
        return self.judged is not None and self.judged.is_choice

    @property
    def shift_cents(self) -> float:
        """How far what it was logged for, which its takes are measured against, lies off."""
        return self.target.interval_to(self.own_target)

    @property
    def is_prediction(self) -> bool:
        """Whether all that is known of it is predicted."""
        return self.suggestion is not None

    @property
    def distance_cents(self) -> float | None:
        """How far it is known, or predicted, to sound from the target."""
        if self.suggestion is not None:
            return self.suggestion.predicted_offset_cents
        if self.fingering is None or not self.fingering.is_measured:
            return None
        return self.fingering.sounding_cents - self.target.cents

    @cached_property
    def keys(self) -> KeyStates:
        """Its key states."""
        if self.asked is not None:
            return self.asked.keys
        row = self.fingering or self.suggestion
        assert row is not None
        return row.key_states()

    @cached_property
    def base(self) -> KeyStates | None:
        """The key states it came from, if any."""
        if self.asked is not None:
            return self.asked.base.keys if self.asked.is_cross else None
        row = self.fingering or self.suggestion
        assert row is not None
        return row.base_key_states()

    @property
    def keys_text(self) -> str:
        """Its keys in their text form."""
        row = self.fingering or self.suggestion
        return format_fingering(self.keys) if row is None else row.keys_text


@dataclass(frozen=True, slots=True)
class StandLoop:
    """A loop to play: both fingerings, and what loops of it say; None where none was recorded."""

    pair: LoopPair
    lower_keys: KeyStates
    upper_keys: KeyStates
    figure: LoopFigure | None


@dataclass(frozen=True, slots=True)
class StandItem:
    """A target on the stand; `row` is its place on the list of a session.

    With `loop` it is a slur back and forth, and has no candidates.

    `reason` says why the first is first, where that is the judge's first. With `asks_suggestions`
    the page asks the finder for more candidates once it is open.
    """

    row: PracticeTarget | None
    written: WrittenPitch
    target_hz: float
    candidates: tuple[Candidate, ...]
    neighbours: tuple[StartingPoint, ...]
    reason: str = ""
    remarks: tuple[Sentence, ...] = ()
    asks_suggestions: bool = False
    is_measured: bool = False
    loop: StandLoop | None = None


@dataclass(frozen=True, slots=True)
class StandPage:
    """What lies on the stand; without a session it is one target, or none yet."""

    instrument: Instrument
    practice: Practice | None
    tuning_a_hz: float
    items: tuple[StandItem, ...]
    range_hz: tuple[float, float]
    is_open: bool
    writing: Writing
    # the take that is worth playing back, by the number of the fingering
    best_takes: Mapping[int, int]
