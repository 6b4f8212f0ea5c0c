"""Result types of the finder: predictions, ranked fingerings, key effects, plans.

Every figure here is predicted, not measured, unless its name says so. Conventions as in `inputs`.
"""

from __future__ import annotations

from dataclasses import dataclass

from analysis.finder.inputs import Start
from analysis.finder.strategies import Strategy
from analysis.keywork import Change, Key, KeyStates
from analysis.pitch import Register, Sentence, WrittenPitch

# Changes whenever the same takes would give other predictions; kept beside each that is kept.
PREDICTION_VERSION = "10"

# A chance that a player would call one: one try in ten, or four with the lip's help.
WORTH_TRYING, WORTH_LIPPING = 0.1, 0.4


@dataclass(frozen=True, slots=True)
class Prediction:
    """Where a fingering is expected for one note.

    `sigma_cents` is the standard uncertainty; `speaks_chance` (0 to 1) says how likely it speaks
    at all and is no part of it.
    """

    offset_cents: float
    sigma_cents: float
    speaks_chance: float


@dataclass(frozen=True, slots=True)
class RegisterPrediction:
    """Where a fingering is expected in one register: `offset_cents` from the note `written`."""

    register: Register
    written: WrittenPitch
    offset_cents: float
    sigma_cents: float


@dataclass(frozen=True, slots=True)
class RankedFingering:
    """A fingering worth trying, with its rank.

    `chance` is that of landing within the tolerance without the lip's help, `lip_chance` that of
    being brought there by the lip or without; `ease` is of the hand (see
    `analysis.keywork.assess_ease`), all 0 to 1. `is_within_reach` tells whether it is worth trying:
    a chance of at least `WORTH_TRYING`, or of `WORTH_LIPPING` with the lip. `variants` are
    fingerings with further keys that make the same sound. `motion` is what reaching it from the
    note before and leaving it for the note after costs, None where neither was asked for.
    """

    rank: int
    fingering: KeyStates
    base: Start
    strategy: Strategy
    changes: tuple[Change, ...]
    changes_words: str
    offset_cents: float
    sigma_cents: float
    chance: float
    ease: float
    has_half_hole: bool
    reason: Sentence
    is_within_reach: bool
    lip_chance: float = 0.0
    variants: tuple[KeyStates, ...] = ()
    motion: float | None = None


@dataclass(frozen=True, slots=True)
class Suggestions:
    """The ranked fingerings for one target, best first; `verdict` says how good they are."""

    items: tuple[RankedFingering, ...]
    verdict: Sentence


@dataclass(frozen=True, slots=True)
class KeyEffect:
    """What pressing a key did to the pitch, from pairs of measured fingerings one key apart."""

    key: Key
    register: Register
    low_cents: float
    high_cents: float
    take_count: int


@dataclass(frozen=True, slots=True)
class ErrorReduction:
    """What the logged pitches gained: typical errors of the bare tube and of the player's model.

    `learned_cents` is the median error of each logged pitch as predicted from all the others;
    both are None below three logged pitches. `words` says it in one sentence.
    """

    log_count: int
    tube_cents: float | None
    learned_cents: float | None
    words: str


@dataclass(frozen=True, slots=True)
class PlannedTry:
    """A fingering to try for one open note, and how likely it closes the gap."""

    written: WrittenPitch
    suggestion: RankedFingering


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole range at a glance.

    Attributes:
        solved: notes that have a measured fingering within the tolerance.
        predicted: notes for which one is likely.
        open: notes for which nothing is known within reach.
        tries: what to try, most expected gain first: each note's best, then further ones.
        expected_closed: how many of the gaps the tries are expected to close.
    """

    solved: tuple[WrittenPitch, ...]
    predicted: tuple[WrittenPitch, ...]
    open: tuple[WrittenPitch, ...]
    tries: tuple[PlannedTry, ...]
    expected_closed: float
