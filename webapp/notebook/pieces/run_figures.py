"""Figures of a run-through: each note in context beside held, and what is said of it.

By how much all notes lay higher than held, as on a warm day, is taken off before a note is said to
lie otherwise, or out of tune.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from analysis.performance import NoteInContext
from analysis.pitch import SoundingPitch, WrittenPitch, format_cents
from webapp.notebook.pieces.run_passage import NoteToPlay
from webapp.notebook.store.rows import Instrument, KeptRun, Piece, RunNote, exact_key

FEWEST_IN_COMMON = 4
LEAST_CHANGE_CENTS = 5.0
SIGMAS = 2.0
EVEN_S = 0.02


@dataclass(frozen=True, slots=True)
class RunRow:
    """A note of a run-through; cents are None where they are not known.

    `off_cents` is how far it lay from the written note, `change_cents` from where it lies held;
    within `tolerance_cents` of the written note it counts as in tune.
    """

    note: RunNote
    off_cents: float | None
    change_cents: float | None
    tolerance_cents: float | None = None

    @property
    def is_out_of_tune(self) -> bool:
        """Whether it lay further from the written note than counts as in tune."""
        if self.off_cents is None or self.tolerance_cents is None:
            return False
        return abs(self.off_cents) > self.tolerance_cents

    @property
    def is_otherwise(self) -> bool:
        """Whether it lay otherwise than held, by more than both figures leave open."""
        if self.change_cents is None:
            return False
        both = np.hypot(
            self.note.held_uncertainty_cents or 0.0, self.note.context_uncertainty_cents or 0.0
        )
        return abs(self.change_cents) >= max(LEAST_CHANGE_CENTS, SIGMAS * float(both))

    @property
    def is_heard(self) -> bool:
        """Whether it was played, right or wrong."""
        return self.note.times > 0

    @property
    def is_wrong(self) -> bool:
        """Whether only another note was heard at its place."""
        return self.is_heard and not self.note.right_times

    @property
    def is_uneven(self) -> bool:
        """Whether what follows came so early or late that one hears it."""
        return self.note.late_s is not None and abs(self.note.late_s) >= EVEN_S

    @property
    def words(self) -> str:
        """How it lay, in a word or two."""
        if self.change_cents is not None:
            return format_cents(self.change_cents) if self.is_otherwise else "as held"
        if not self.is_heard:
            return "not heard"
        if self.is_wrong:
            return "another note"
        if self.note.is_trill:
            return "trill"
        return "too short to tell" if self.note.context_cents is None else "not measured held"

    @property
    def timing(self) -> str:
        """How it lies in time, in a word or two; '' where nothing followed at once."""
        late_s = self.note.late_s
        if late_s is None:
            return ""
        if not self.is_uneven:
            return "even"
        return f"{abs(late_s) * 1000:.0f} ms {'long' if late_s > 0 else 'short'}"


@dataclass(frozen=True, slots=True)
class SameNote:
    """What lay in tune, or could not be judged, of one note; the first place first."""

    rows: tuple[RunRow, ...]

    @property
    def bars(self) -> tuple[str, ...]:
        """The printed numbers of its bars, each once."""
        return tuple(dict.fromkeys(each.note.bar_label for each in self.rows))


@dataclass(frozen=True, slots=True)
class RunPage:
    """A run-through: what changed most comes first, what was not heard last."""

    run: KeptRun
    piece: Piece
    instrument: Instrument
    rows: tuple[RunRow, ...]

    @property
    def out_of_tune(self) -> tuple[RunRow, ...]:
        """The rows that lay further from their notes than the tolerance, the furthest first."""
        found = [each for each in self.rows if each.is_out_of_tune]
        return tuple(sorted(found, key=lambda each: -abs(each.off_cents or 0.0)))

    @property
    def in_tune(self) -> tuple[SameNote, ...]:
        """The rows that lay within the tolerance, note by note."""
        return _gather(
            each for each in self.rows if each.off_cents is not None and not each.is_out_of_tune
        )

    @property
    def astray(self) -> tuple[RunRow, ...]:
        """What was another note or not heard, in the order of the passage."""
        return _in_order(each for each in self.rows if each.is_wrong or not each.is_heard)

    @property
    def uneven(self) -> tuple[RunRow, ...]:
        """What was too long or too short, the furthest first."""
        found = [each for each in self.rows if each.is_uneven]
        return tuple(sorted(found, key=lambda each: -abs(each.note.late_s or 0.0)))

    @property
    def unjudged(self) -> tuple[SameNote, ...]:
        """What was played right and too short for a figure, note by note; trills too."""
        return _gather(
            each
            for each in self.rows
            if each.off_cents is None and each.is_heard and not each.is_wrong
        )

    @property
    def to_practise(self) -> tuple[str, ...]:
        """The notes out of tune, then those astray, as canonical text, each once."""
        found = (*self.out_of_tune, *self.astray)
        return tuple(dict.fromkeys(each.note.written for each in found))

    def name_played(self, row: RunRow) -> WrittenPitch | None:
        """Return the quarter tone that was played instead of a note; None where it is not known."""
        if not row.is_wrong or row.note.wrong_cents is None:
            return None
        asked = self.instrument.transposition.to_sounding(row.note.pitch).cents
        return self.instrument.nearest_written(SoundingPitch(asked + row.note.wrong_cents))

    @property
    def missing_count(self) -> int:
        """How many notes were not heard."""
        return sum(not each.is_heard for each in self.rows)

    @property
    def wrong_count(self) -> int:
        """How many sounded as another note."""
        return sum(each.is_wrong for each in self.rows)

    @property
    def played_per_minute(self) -> float:
        """The tempo played, in quarter notes a minute."""
        return self.run.quarters_per_minute * self.run.tempo_share


def make_note(asked: NoteToPlay, found: NoteInContext, instrument: Instrument) -> RunNote:
    """Return the row of a note of a passage that was played."""
    written = asked.timed.written
    sounding = instrument.transposition.to_sounding(written).cents
    wrong = [each.height_cents - sounding for each in found.played if not each.is_right]
    known = found.height_cents
    return RunNote(
        position=found.place,
        bar_label=asked.bar_label,
        written=written.canonical,
        written_exact=exact_key(written.cents),
        is_trill=asked.timed.note.trill_kind is not None,
        fingering_id=asked.held.fingering_id,
        held_cents=asked.held.cents,
        held_uncertainty_cents=asked.held.uncertainty_cents,
        context_cents=None if known is None else known - sounding,
        context_uncertainty_cents=found.uncertainty_cents,
        wrong_cents=wrong[0] if wrong else None,
        times=len(found.played),
        right_times=found.right_count,
        late_s=found.late_s,
    )


def find_shift(notes: Sequence[RunNote]) -> float:
    """Return by how much all notes lay higher than held; 0 where too few have a figure for both."""
    away = [
        each.context_cents - each.held_cents
        for each in notes
        if each.context_cents is not None and each.held_cents is not None
    ]
    return median(away) if len(away) >= FEWEST_IN_COMMON else 0.0


def judge_row(note: RunNote, shift_cents: float, tolerance_cents: float | None = None) -> RunRow:
    """Return a note with how far it lay off, what all have in common taken off."""
    if note.context_cents is None:
        return RunRow(note, None, None, tolerance_cents)
    off_cents = note.context_cents - shift_cents
    change_cents = None if note.held_cents is None else off_cents - note.held_cents
    return RunRow(note, off_cents, change_cents, tolerance_cents)


def _in_order(rows: Iterable[RunRow]) -> tuple[RunRow, ...]:
    return tuple(sorted(rows, key=lambda each: each.note.position))


def _gather(rows: Iterable[RunRow]) -> tuple[SameNote, ...]:
    found: dict[str, list[RunRow]] = {}
    for each in _in_order(rows):
        found.setdefault(each.note.written_exact, []).append(each)
    return tuple(SameNote(tuple(each)) for each in found.values())


def sort_rows(run: KeptRun, tolerances: Mapping[str, float]) -> tuple[RunRow, ...]:
    """Return what changed most first; then wrong ones, those not measured held, those not heard.

    `tolerances` holds what counts as in tune, in cents, by the exact written cents (`exact_key`).
    """

    def rank(row: RunRow) -> tuple[int, float, int]:
        if row.change_cents is not None:
            return 0, -abs(row.change_cents), row.note.position
        return (3 if not row.is_heard else 1 if row.is_wrong else 2), 0.0, row.note.position

    rows = [judge_row(each, run.shift_cents, tolerances[each.written_exact]) for each in run.notes]
    return tuple(sorted(rows, key=rank))
