"""Public types of `analysis.recording`: everything that is known about one take.

Conventions: times in seconds from the start of the clip; frequencies in Hz; levels in dB relative
to the strongest partial (which is 0 dB); cents are 1200 log2 of a frequency ratio. Absent is
`None`, never 0 or NaN: a take whose verdict is not `Verdict.OK` carries no pitch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

METHOD_VERSION = "6"
"""Changes whenever the same clip could give another number."""
MIN_TONE_S = 0.18
"""The shortest tone that has a pitch."""


class Verdict(StrEnum):
    """Whether a take can stand as evidence, and if not, why."""

    OK = "ok"
    SILENCE = "silence"
    NOISE = "noise"
    TOO_SHORT = "too short"
    NO_STEADY_PITCH = "no steady pitch"
    TOO_QUIET = "too quiet"
    SPEECH = "speech"
    MULTIPHONIC = "multiphonic"
    TRILL = "trill"
    TREMOLO = "tremolo"
    BEND_OR_GLISSANDO = "bend or glissando"
    NO_CLEAR_PITCH = "no clear pitch"
    UNREADABLE = "unreadable"


class TakeWarning(StrEnum):
    """Something to know about a take; the number still stands, with less weight."""

    CLIPPED = "clipped"
    OVERDRIVEN = "overdriven"
    LOST_SOUND = "lost sound"
    TOO_QUIET = "too quiet"
    TWO_NOTES = "two notes"
    BENT = "bent"
    MAINS_HUM = "mains hum"
    OTHER_REGISTER = "other register"
    OTHER_NOTE = "other note"
    NEARER_TO_ANOTHER = "nearer to another note"
    SHORT = "short"
    FLUTTER_TONGUE = "flutter-tongue"
    TRUNCATED = "truncated"
    NO_TUNING_REFERENCE = "no tuning reference"


SPOILING = frozenset({TakeWarning.OVERDRIVEN, TakeWarning.LOST_SOUND})
"""Warnings about a recording that is too damaged to be evidence."""


@dataclass(frozen=True, slots=True)
class Vibrato:
    """A regular wave in the pitch: `extent_cents` is from the middle to the crest."""

    rate_hz: float
    extent_cents: float


@dataclass(frozen=True, slots=True)
class PitchTrace:
    """Pitch over time for display, at most 500 points, equally spaced where the tone holds."""

    times_s: tuple[float, ...]
    f0_hz: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Partial:
    """One harmonic of the tone; `number` 1 is the fundamental."""

    number: int
    freq_hz: float
    level_db: float


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Average spectrum of the steady part for display, at most 400 points, and its partials."""

    freq_hz: tuple[float, ...]
    level_db: tuple[float, ...]
    partials: tuple[Partial, ...]


@dataclass(frozen=True, slots=True)
class Component:
    """One of several notes that sound at once; the loudest has level 0 dB."""

    f0_hz: float
    level_db: float


@dataclass(frozen=True, slots=True)
class Alternation:
    """Two notes by turns, as in a trill or a tremolo; `rate_hz` counts both of them as one turn."""

    rate_hz: float
    low_hz: float
    high_hz: float

    @property
    def interval_cents(self) -> float:
        """How far the notes lie apart, above 0."""
        return 1200 * math.log2(self.high_hz / self.low_hz)


EMPTY_TRACE = PitchTrace((), ())
EMPTY_SPECTRUM = Spectrum((), (), ())


@dataclass(frozen=True, slots=True)
class TakeMeasurement:
    """Everything measured about one take.

    `f0_hz` is the median pitch over `steady_from_s` to `steady_to_s`; that span is part of its
    definition. `f0_uncertainty_cents` is one standard deviation. `spread_cents` is the scatter of
    the pitch about its median over the steady part (1.4826 times the median absolute deviation,
    which for a normal scatter is its standard deviation). `centroid_hz` and `brightness_partials`
    are the same brightness in Hz and in multiples of f0; `odd_even_db` is the power of the odd
    partials over that of the even ones, `breath_noise_db` the noise between the partials against
    the tone (`colour`), `time_to_speak_s` how long the tone takes from its onset to its full level
    (`time_to_speak`). None of these five depends on the recording level.

    With `Verdict.TOO_SHORT` the steady span still says where sound was found. With
    `Verdict.MULTIPHONIC` there is no one pitch, but `components` (two or more, loudest first).
    `Verdict.TRILL` and `Verdict.TREMOLO` carry an `alternation`, `TakeWarning.FLUTTER_TONGUE` the
    rate of the flutter in Hz.
    """

    verdict: Verdict
    duration_s: float
    f0_hz: float | None = None
    f0_uncertainty_cents: float | None = None
    spread_cents: float | None = None
    drift_cents_per_s: float | None = None
    vibrato: Vibrato | None = None
    centroid_hz: float | None = None
    brightness_partials: float | None = None
    odd_even_db: float | None = None
    breath_noise_db: float | None = None
    time_to_speak_s: float | None = None
    steady_from_s: float | None = None
    steady_to_s: float | None = None
    warnings: tuple[TakeWarning, ...] = ()
    trace: PitchTrace = EMPTY_TRACE
    spectrum: Spectrum = EMPTY_SPECTRUM
    components: tuple[Component, ...] = ()
    alternation: Alternation | None = None
    flutter_hz: float | None = None
    method_version: str = METHOD_VERSION

    @property
    def is_usable(self) -> bool:
        """Whether the take carries a pitch."""
        return self.verdict is Verdict.OK

    @property
    def is_spoilt(self) -> bool:
        """Whether the recording is too damaged to stand as evidence, whatever its pitch."""
        return not SPOILING.isdisjoint(self.warnings)

    def with_warnings(self, *warnings: TakeWarning) -> TakeMeasurement:
        """The same measurement with further warnings; one already there is not repeated."""
        merged = tuple(dict.fromkeys(self.warnings + warnings))
        return replace(self, warnings=merged)
