"""Log of the invented player: the demo's data files, read into small records."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib.resources import files
from typing import Any

from analysis.finder import Strategy

FILES = ("soprano.toml", "bass.toml")
ORDINARY = "ordinary:"


@dataclass(frozen=True, slots=True)
class DemoTake:
    """One recording: where it truly sounds against its target, and how it was played.

    A silent take has no offset.
    """

    at: datetime
    offset_cents: float = 0.0
    dynamic: str | None = None
    temperature_c: float | None = None
    vibrato_cents: float = 0.0
    vibrato_hz: float = 0.0
    is_silent: bool = False


@dataclass(frozen=True, slots=True)
class DemoFingering:
    """One fingering as logged; `base` names an ordinary fingering or an earlier one of the demo."""

    name: str
    logged_at: datetime
    target: str
    keys: str
    strategy: Strategy
    base: str = ""
    resistance: int | None = None
    resistance_notes: str = ""
    notes: str = ""
    tags: tuple[str, ...] = ()
    does_not_speak: bool = False
    takes: tuple[DemoTake, ...] = ()

    @property
    def is_from_logged(self) -> bool:
        """Whether it came from another fingering of the demo."""
        return bool(self.base) and not self.base.startswith(ORDINARY)


@dataclass(frozen=True, slots=True)
class DemoInstrument:
    """One clarinet, its set-up and what was logged on it, oldest first.

    `tone_cutoff_hz` is where its open holes stop holding the sound in: below it even partials
    are weak, above it all partials fall.
    """

    name: str
    kind: str
    layout: str
    tuning_a_hz: float
    tone_cutoff_hz: float
    mouthpiece: str
    reed: str
    barrel: str
    notes: str
    fingerings: tuple[DemoFingering, ...]


@lru_cache(maxsize=1)
def read_story() -> tuple[DemoInstrument, ...]:
    """Read the demo's instruments with everything that is logged on them."""
    return tuple(_read_file(name) for name in FILES)


def _read_file(name: str) -> DemoInstrument:
    content = tomllib.loads(files(__package__).joinpath(name).read_text(encoding="utf-8"))
    fingerings = tuple(_read_fingering(fields) for fields in content["fingerings"])
    instrument = content["instrument"]
    return DemoInstrument(**instrument, fingerings=fingerings)


def _read_fingering(fields: Mapping[str, Any]) -> DemoFingering:
    rest = dict(fields)
    return DemoFingering(
        strategy=Strategy(rest.pop("strategy")),
        tags=tuple(rest.pop("tags", ())),
        takes=tuple(DemoTake(**take) for take in rest.pop("takes", ())),
        **rest,
    )
