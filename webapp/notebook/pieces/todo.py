"""List of what is still to do for a part on one instrument, the most pressing note first.

How each note stands is the judge's answer (`targets/answers`), under a tolerance that starts from
the part; one that the player keeps for the note wins. Ordinary semitones count as settled, unless
the player keeps a tolerance for them.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.score import PartTranscript, ReadingSettings, ScorePart
from webapp.notebook.pieces.needs import (
    ApartItem,
    Closeness,
    NoteNeed,
    PartNeeds,
    collect_needs,
    read_part_for,
)
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import Instrument
from webapp.notebook.targets.answers import Judge, read_judge
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.range import ordinary_cents
from webapp.notebook.targets.rows_found import NEAREST_WITHIN_CENTS
from webapp.notebook.targets.standing import Judged, Standing

OPEN = "open"
_PRESSING = (None, Standing.NEAR, Standing.NOT_TRIED, Standing.IN_TUNE)


@dataclass(frozen=True, slots=True)
class TodoNote:
    """A note that needs thought: what the part asks, what the judge says, and what is nearest.

    `nearest` is what sounds or is meant nearest within three quarter tones, where nothing serves.
    """

    need: NoteNeed
    answer: NoteAnswer
    has_own_tolerance: bool = False
    nearest: Judged | None = None

    @property
    def best(self) -> Judged | None:
        """The first that may be played for the note, or None where it is open."""
        return self.answer.best

    @property
    def standing_words(self) -> str:
        """How it stands: the standing of the first, or open."""
        return self.best.standing.value if self.best else OPEN

    @property
    def tolerance_words(self) -> str:
        """Where its tolerance comes from."""
        return "your own" if self.has_own_tolerance else self.need.closeness.words


@dataclass(frozen=True, slots=True)
class PieceTodo:
    """What is still to do for a part.

    `open_bars` are the indices of the bars that remain, `settled_count` how many distinct notes
    are ordinary semitones.
    """

    instrument: Instrument
    part: ScorePart
    notes: tuple[TodoNote, ...]
    apart: tuple[ApartItem, ...]
    writing: Writing
    settled_count: int = 0

    @property
    def open_bars(self) -> tuple[int, ...]:
        """The bars with a note that is not solved."""
        bars = {bar for each in self.notes if not each.answer.is_solved for bar in each.need.bars}
        return tuple(sorted(bars))


def open_todo(
    notebook: Notebook, instrument_id: int, transcript: PartTranscript, settings: ReadingSettings
) -> PieceTodo:
    """Say what a part asks of an instrument and how each of its notes stands there.

    Raises:
        NotInNotebook: no such instrument.
        ScoreError: nothing in the part has a pitch, or the settings do not fit.
    """
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        judge = read_judge(session, instrument)
        writing = find_preferences(session)
    part = read_part_for(transcript, settings, instrument.transposition)
    needs = collect_needs(part, instrument.transposition)
    notes = judge_needs(needs, judge, ordinary_cents(instrument.layout, instrument.kind_id))
    settled_count = len(needs.notes) - len(notes)
    return PieceTodo(instrument, part, notes, needs.apart, writing, settled_count)


def judge_needs(
    needs: PartNeeds, judge: Judge, ordinary: Collection[Fraction]
) -> tuple[TodoNote, ...]:
    """Return the notes that need thought as they stand, the most pressing first.

    `ordinary` holds the written cents of the ordinary notes of the keywork. What is not solved
    comes first: open, near, not tried; within that what has to be closest, then the longest, then
    the most frequent.
    """
    wanted = []
    for need in needs.notes:
        own_cents = judge.own_tolerance(need.written)
        if own_cents is not None or need.written.cents not in ordinary:
            wanted.append(_judge_need(need, judge, has_own_tolerance=own_cents is not None))
    return tuple(_sort(wanted))


def _judge_need(need: NoteNeed, judge: Judge, *, has_own_tolerance: bool) -> TodoNote:
    usual_cents = need.closeness.tolerance_cents(judge.tolerance_cents)
    answer = judge.answer(need.written, usual_cents=usual_cents)
    nearest = None if answer.best else judge.find_nearest(answer.note, NEAREST_WITHIN_CENTS)
    return TodoNote(need, answer, has_own_tolerance, nearest)


def _sort(notes: Sequence[TodoNote]) -> list[TodoNote]:
    lengths = [each.need for each in notes if each.need.longest_quarters is not None]
    has_tempo = all(each.longest_s is not None for each in lengths)

    def press(todo: TodoNote) -> tuple[float, ...]:
        need, best = todo.need, todo.best
        longest = (need.longest_s if has_tempo else need.longest_quarters) or 0
        return (
            todo.answer.is_solved,
            _PRESSING.index(best.standing if best else None),
            max(need.closeness, Closeness.HELD),  # a just interval is as exposed as a held note
            -float(longest),
            -need.count,
            float(need.written.cents),
        )

    return sorted(notes, key=press)
