"""Logged fingerings as the finder reads them: pitches and starting points, kept in memory.

Of an instrument counts what is measured or does not speak, as far as its keys and its note can be
read. A large notebook takes long to read so, therefore it is read once and follows the log of
changes from then on (`store.changes`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from analysis.errors import AnalysisError
from analysis.finder.inputs import LoggedPitch, Start
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import WrittenPitch
from webapp.notebook.store.changes import follow_fingerings
from webapp.notebook.store.rows import Fingering, Instrument

LEAST_SIGMA_CENTS = 0.1
_COLUMNS = (
    Fingering.id,
    Fingering.target_text,
    Fingering.keys_text,
    Fingering.take_count,
    Fingering.does_not_speak,
    Fingering.offset_cents,
    Fingering.offset_uncertainty_cents,
)

Place = tuple[int, int]
"""A note and how it is fingered, each by a number of its own: quick to look up."""


class LoggedRow(NamedTuple):
    """A fingering as it counts; one that does not speak is no start."""

    place: Place
    log: LoggedPitch
    start: Start | None


@dataclass(frozen=True, slots=True)
class _Vocabulary:
    """Notes and keys by their texts, each with its number; None where a text can't be read."""

    layout: Layout
    notes: dict[str, tuple[int, WrittenPitch] | None] = field(default_factory=dict)
    keys: dict[str, tuple[int, KeyStates] | None] = field(default_factory=dict)
    numbers: dict[WrittenPitch | KeyStates, int] = field(default_factory=dict)

    def copy(self) -> _Vocabulary:
        """Return one that can grow for itself."""
        return _Vocabulary(self.layout, {**self.notes}, {**self.keys}, {**self.numbers})

    def read_note(self, text: str) -> tuple[int, WrittenPitch] | None:
        """Return a note and its number."""
        if text not in self.notes:
            try:
                note = WrittenPitch.from_canonical(text)
                self.notes[text] = self._number(note), note
            except AnalysisError:
                self.notes[text] = None
        return self.notes[text]

    def read_keys(self, text: str) -> tuple[int, KeyStates] | None:
        """Return keys and their number."""
        if text not in self.keys:
            try:
                keys = parse_fingering(text, self.layout)
                self.keys[text] = self._number(keys), keys
            except AnalysisError:
                self.keys[text] = None
        return self.keys[text]

    def _number(self, value: WrittenPitch | KeyStates) -> int:
        return self.numbers.setdefault(value, len(self.numbers))


@dataclass(frozen=True, slots=True)
class LoggedRows:
    """Logged pitches that count on an instrument, by the number of the fingering, the oldest first.

    `logs` are all of them; `starts` those to start from, of several with the same note and keys
    the newest.
    """

    rows: Mapping[int, LoggedRow]
    logs: tuple[LoggedPitch, ...]
    starts: Mapping[Place, Start]
    vocabulary: _Vocabulary

    def place_of(self, written: WrittenPitch, keys: KeyStates) -> Place:
        """Return the place of a note and how it is fingered; one that is not there has none's."""
        numbers = self.vocabulary.numbers
        return numbers.get(written, -1), numbers.get(keys, -1)


def read_logged(session: Session, instrument: Instrument) -> LoggedRows:
    """Return what counts on an instrument, brought up to what was written."""
    layout = instrument.layout

    def read() -> LoggedRows:
        vocabulary = _Vocabulary(layout)
        return _gather(_read_rows(session, instrument, None, vocabulary), vocabulary)

    def renew(earlier: LoggedRows, written: Collection[int]) -> LoggedRows:
        vocabulary = earlier.vocabulary.copy()
        rows = {number: row for number, row in earlier.rows.items() if number not in written}
        again = _read_rows(session, instrument, written, vocabulary)
        if not again and len(rows) == len(earlier.rows):
            return earlier
        rows.update(again)
        return _gather(dict(sorted(rows.items())), vocabulary)

    return follow_fingerings(session, ("logged", instrument.id, layout), read, renew)


def _gather(rows: dict[int, LoggedRow], vocabulary: _Vocabulary) -> LoggedRows:
    starts = {row.place: row.start for row in rows.values() if row.start is not None}
    return LoggedRows(rows, tuple(row.log for row in rows.values()), starts, vocabulary)


def _read_rows(
    session: Session,
    instrument: Instrument,
    numbers: Collection[int] | None,
    vocabulary: _Vocabulary,
) -> dict[int, LoggedRow]:
    query = (
        select(*_COLUMNS)
        .where(
            Fingering.instrument_id == instrument.id,
            Fingering.deleted_at.is_(None),
            or_(Fingering.take_count > 0, Fingering.does_not_speak),
        )
        .order_by(Fingering.id)
    )
    if numbers is not None:
        query = query.where(Fingering.id.in_(numbers))
    return dict(_read_each(session.execute(query), vocabulary))


def _read_each(found: Iterable[Any], vocabulary: _Vocabulary) -> Iterator[tuple[int, LoggedRow]]:
    for number, target, text, take_count, is_silent, offset_cents, uncertainty_cents in found:
        note, keys = vocabulary.read_note(target), vocabulary.read_keys(text)
        if note is None or keys is None:
            continue
        (note_number, written), (keys_number, states) = note, keys
        sigma_cents = max(uncertainty_cents or 0.0, LEAST_SIGMA_CENTS)
        log = LoggedPitch(states, written, None if is_silent else offset_cents, sigma_cents)
        is_start = take_count > 0 and not is_silent
        start = Start(written, states, "yours", offset_cents, number) if is_start else None
        yield number, LoggedRow((note_number, keys_number), log, start)
