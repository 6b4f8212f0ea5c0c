"""The document of an exchange as types: what another player says of instruments and fingerings.

A document is JSON by `exchange.schema.json`; these types wrap its parts and read what they mean.
All of it is the sender's: figures are theirs, on their instrument, and no evidence here.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from analysis.errors import AnalysisError
from analysis.finder.strategies import Strategy
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import KINDS, InstrumentKind, Transposition, WrittenPitch
from webapp.notebook.store.rows.layouts import read_kept_layout

FORMAT = "quartervent-exchange"
FORMAT_VERSION = 1
FINGERINGS_AT_MOST = 2000

Json = Mapping[str, Any]


@lru_cache(maxsize=1)
def load_schema() -> tuple[str, Json]:
    """Return the schema of exchange.json: its text and what it says."""
    text = Path(__file__).with_name("exchange.schema.json").read_text("utf-8")
    return text, json.loads(text)


def write_details(part: Json) -> str:
    """Write a part of a document as it is kept in a row: canonical, so that equal parts are equal.

    >>> write_details({"b": 1, "a": "½"})
    '{"a":"½","b":1}'
    """
    return json.dumps(
        part, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False
    )


@lru_cache(maxsize=4096)
def read_details(text: str) -> Json:
    """Read a part of a document from its row."""
    part: Json = json.loads(text)
    return part


@dataclass(frozen=True)
class TheirInstrument:
    """An instrument of another player, with its keywork and set-up."""

    said: Json

    @property
    def name(self) -> str:
        """Name that its player gave it."""
        return str(self.said["name"])

    @property
    def kind(self) -> InstrumentKind:
        """Kind of clarinet."""
        return KINDS[self.said["kind"]]

    @property
    def kind_id(self) -> str:
        """The id of its kind."""
        return str(self.said["kind"])

    @property
    def layout(self) -> Layout:
        """Its keywork. Raises `LayoutError` where the text is none."""
        return read_kept_layout(self.said["keywork"]["toml"])

    @property
    def transposition(self) -> Transposition:
        """Written to sounding pitch."""
        return Transposition(self.said["transposition_cents"])

    @property
    def tuning_a_hz(self) -> float:
        """The tuning A that its takes are measured against."""
        return float(self.said["tuning_a_hz"])

    @property
    def setup_lines(self) -> tuple[str, ...]:
        """Mouthpiece, reed and barrel as far as they are noted, one line each."""
        names = ("mouthpiece", "reed", "barrel")
        return tuple(f"{name.capitalize()}: {self.said[name]}" for name in names if self.said[name])

    @property
    def changed_at(self) -> datetime:
        """When it was changed last."""
        return datetime.fromisoformat(self.said["changed_at"])


@dataclass(frozen=True)
class TheirFingering:
    """A fingering of another player, on their instrument."""

    said: Json
    instrument: TheirInstrument

    @property
    def uid(self) -> str:
        """The id that the sender's notebook gave."""
        return str(self.said["id"])

    @property
    def written(self) -> WrittenPitch:
        """The note that it is for, with the sign it was spelled with."""
        note = self.said["note"]
        sign = None if note["sign_cents"] is None else Fraction(note["sign_cents"])
        return replace(WrittenPitch.from_canonical(note["written"]), sign_cents=sign)

    @cached_property
    def keys(self) -> KeyStates:
        """The keys on their keywork."""
        return parse_fingering(self.said["keys"], self.instrument.layout)

    @cached_property
    def base(self) -> KeyStates | None:
        """The keys that it started from, where that is known and can be read."""
        started = self.said["started_from"]
        if started is None:
            return None
        try:
            return parse_fingering(started["keys"], self.instrument.layout)
        except AnalysisError:  # their keywork has changed since
            return None

    @property
    def sounding_cents(self) -> float:
        """Where it is known or meant to sound."""
        return float(self.said["note"]["sounding_cents"])

    @property
    def is_measured(self) -> bool:
        """Whether its player measured it."""
        return self.said["figures"] is not None

    @property
    def offset_cents(self) -> float | None:
        """How far it sounds from its note, as its player measured it."""
        figures = self.said["figures"]
        return None if figures is None else float(figures["offset_cents"])

    @property
    def uncertainty_cents(self) -> float | None:
        """One standard deviation of that."""
        figures = self.said["figures"]
        return None if figures is None else float(figures["uncertainty_cents"])

    @property
    def take_count(self) -> int:
        """How many takes stand behind the figure."""
        figures = self.said["figures"]
        return 0 if figures is None else int(figures["takes_counted"])

    @property
    def strategy(self) -> Strategy:
        """How it was derived; an unknown word is that it was found by trying."""
        try:
            return Strategy(self.said["how"])
        except ValueError:
            return Strategy.FOUND

    @property
    def changed_at(self) -> datetime:
        """When it was changed or measured last."""
        return datetime.fromisoformat(self.said["changed_at"])

    @property
    def takes(self) -> tuple[tuple[Json, datetime], ...]:
        """Each take as it is told, with the moment it was recorded."""
        return tuple(
            (each, datetime.fromisoformat(each["recorded_at"])) for each in self.said["takes"]
        )


@dataclass(frozen=True)
class TheirList:
    """A list of another player: notes in order, each perhaps with one of their fingerings."""

    said: Json

    @property
    def changed_at(self) -> datetime:
        """When it was made or changed."""
        return datetime.fromisoformat(self.said["changed_at"])

    @property
    def notes(self) -> tuple[tuple[WrittenPitch, str | None, str], ...]:
        """Each note with the id of a fingering, if it has one, and a remark."""
        return tuple(
            (WrittenPitch.from_canonical(each["written"]), each["fingering"], each["remark"])
            for each in self.said["notes"]
        )


def instruments_of(document: Json) -> Iterator[TheirInstrument]:
    """Go through the instruments of a document."""
    return (TheirInstrument(each) for each in document["instruments"])


def fingerings_of(document: Json) -> Iterator[TheirFingering]:
    """Go through the fingerings of a document, instrument by instrument."""
    for instrument in instruments_of(document):
        for each in instrument.said["fingerings"]:
            yield TheirFingering(each, instrument)
