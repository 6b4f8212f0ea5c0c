"""Input types of the finder: starting points, logged pitches, wishes.

Conventions: written pitches are in the notation of the instrument's kind; offsets are cents from
the written pitch beside them, positive for sharp.
"""

from __future__ import annotations

from dataclasses import dataclass

from analysis.keywork import KeyStates
from analysis.pitch import Register, WrittenPitch

DEFAULT_TOLERANCE_CENTS = 10.0
MOST_CHANGES = 4


@dataclass(frozen=True, slots=True)
class Start:
    """A fingering that works, from which another may be derived.

    `offset_cents` is how far it was measured from `written`, None if it was not; `logged_id` is
    the caller's own number for a logged fingering. `is_own_ordinary` says that the player plays
    the note so, in place of the ordinary fingerings of the layout.
    """

    written: WrittenPitch
    fingering: KeyStates
    label: str = ""
    offset_cents: float | None = None
    logged_id: int | None = None
    is_own_ordinary: bool = False


@dataclass(frozen=True, slots=True)
class LoggedPitch:
    """Where a fingering sounded on the player's own instrument.

    `written` is the note that it was logged for; `offset_cents` None says that it did not speak;
    `sigma_cents` is the standard uncertainty of the offset, all takes pooled; `air_c` the
    temperature of the room in degrees C, their mean, None if it is not known.
    """

    fingering: KeyStates
    written: WrittenPitch
    offset_cents: float | None
    sigma_cents: float
    air_c: float | None = None


@dataclass(frozen=True, slots=True)
class LipReach:
    """How far the lip can close a gap: a sharp fingering down, a flat one up, in cents."""

    sharp_cents: float
    flat_cents: float


# Common practice, from memory: a note is lipped down farther than up, most of all in the clarion,
# and in the altissimo farther both ways.
USUAL_REACH = LipReach(sharp_cents=25.0, flat_cents=10.0)
ALTISSIMO_REACH = LipReach(sharp_cents=40.0, flat_cents=15.0)
CLARION_UP_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class PlayersLip:
    """How far a player bends ordinary notes: in the low registers, and in the altissimo."""

    usual: LipReach = USUAL_REACH
    altissimo: LipReach = ALTISSIMO_REACH

    @property
    def clarion(self) -> LipReach:
        """How far they bend those of the clarion: down as usual, up hardly."""
        return LipReach(self.usual.sharp_cents, CLARION_UP_SHARE * self.usual.flat_cents)

    def find_reach(self, register: Register) -> LipReach:
        """Find how far they bend the ordinary notes of a register."""
        if register is Register.ALTISSIMO:
            return self.altissimo
        return self.clarion if register is Register.CLARION else self.usual


USUAL_LIP = PlayersLip()


@dataclass(frozen=True, slots=True)
class LipTry:
    """Where one fingering sounded from its note without watching the trace, and watching it."""

    register: Register
    without_cents: float
    watching_cents: float


@dataclass(frozen=True, slots=True)
class DynamicSpan:
    """How far one fingering moves between the softest and the loudest that it was played.

    `span_cents` is the distance of its highest dynamic from its lowest, at least 0, with its
    standard uncertainty.
    """

    fingering: KeyStates
    written: WrittenPitch
    span_cents: float
    sigma_cents: float


@dataclass(frozen=True, slots=True)
class Wishes:
    """Constraints that a ranked fingering has to respect.

    Attributes:
        tolerance_cents: an offset up to this counts as in tune.
        has_half_holes: whether half-holes may be needed (`KeyStates.has_half_hole`).
        most_changes: from the base, 1 to 4 keys.
        must_be_free: ids of keys that must stay up.
        must_be_down: ids of keys that must be held.
        prefers_colour_of: a fingering whose colour is wanted: those with like open holes gain.
        dismissed: canonical texts of fingerings not to suggest again.
        lip: how far the player says that the lip goes.
        lip_tries: what it has shown; without any `lip` counts.
        spans: what takes at several dynamics show of how fingerings follow the reed.
    """

    tolerance_cents: float = DEFAULT_TOLERANCE_CENTS
    has_half_holes: bool = False
    most_changes: int = 3
    must_be_free: frozenset[str] = frozenset()
    must_be_down: frozenset[str] = frozenset()
    prefers_colour_of: KeyStates | None = None
    dismissed: frozenset[str] = frozenset()
    lip: PlayersLip = USUAL_LIP
    lip_tries: tuple[LipTry, ...] = ()
    spans: tuple[DynamicSpan, ...] = ()

    def __post_init__(self) -> None:
        if not self.tolerance_cents > 0:
            raise ValueError(f"A tolerance above 0 cents was expected, not {self.tolerance_cents}.")
        if not 1 <= self.most_changes <= MOST_CHANGES:
            raise ValueError(
                f"1 to {MOST_CHANGES} changed keys were expected, not {self.most_changes}."
            )


NO_WISHES = Wishes()
