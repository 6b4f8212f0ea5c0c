"""List of what is still to do for a part on one instrument, the most pressing note first.

How each note stands is the judge's answer (`targets/answers`), under a tolerance that starts from
the part; one that the player keeps for the note wins. Ordinary semitones count as settled, unless
the player keeps a tolerance for them.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from sqlalchemy.orm import Session

from analysis.score import PartTranscript, ReadingSettings, ScorePart
from webapp.notebook.pieces.decisions import Decisions
from webapp.notebook.pieces.needs import (
    ApartItem,
    Closeness,
    NoteNeed,
    PartNeeds,
    collect_needs,
    read_part_for,
)
from webapp.notebook.pieces.softness import (
    SoftJudgement,
    is_soft,
    judge_softly,
    load_soft_figures,
)
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.rows import (
    ComposerFingering,
    FixedFingering,
    Instrument,
    SettledNote,
    exact_key,
)
from webapp.notebook.targets.answers import Judge, read_judge_of
from webapp.notebook.targets.facts import Look, load_tolerances
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.range import ordinary_cents
from webapp.notebook.targets.rows_found import NEAREST_WITHIN_CENTS
from webapp.notebook.targets.standing import Judged, Standing

OPEN = "open"
_PRESSING = (None, Standing.ELSEWHERE, Standing.NEAR, Standing.NOT_TRIED, Standing.IN_TUNE)


@dataclass(frozen=True, slots=True)
class TodoNote:
    """A note that needs thought: what the part asks, what the judge says, and what is nearest.

    `nearest` is what sounds or is meant nearest within three quarter tones, where nothing serves;
    `softly` is how it stands at pp, where the part asks for that. The player's decisions about the
    piece are with it: the word that settles it, what is fixed for it, the composer's fingerings.
    """

    need: NoteNeed
    answer: NoteAnswer
    has_own_tolerance: bool = False
    nearest: Judged | None = None
    softly: SoftJudgement | None = None
    settled: SettledNote | None = None
    fixed: tuple[FixedFingering, ...] = ()
    composers: tuple[ComposerFingering, ...] = ()

    @property
    def best(self) -> Judged | None:
        """The first that may be played for the note, or None where it is open."""
        return self.softly.judged if self.softly else self.answer.best

    @property
    def is_solved(self) -> bool:
        """Whether a fingering solves it: at pp where the part asks for that and takes can tell."""
        if self.softly is not None and self.softly.is_proven:
            return self.softly.judged.is_solution
        return self.answer.is_solved

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do: it is solved, or the player settled it with a word."""
        return self.is_solved or self.settled is not None

    @property
    def to_try(self) -> ComposerFingering | None:
        """The composer's fingering that is to be tried first: the first without a take."""
        for each in self.composers:
            row = each.fingering
            if row is not None and row.deleted_at is None and not row.take_count:
                return None if row.does_not_speak else each
        return None

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
        bars = {bar for each in self.notes if not each.is_done for bar in each.need.bars}
        return tuple(sorted(bars))

    @property
    def open_notes(self) -> tuple[TodoNote, ...]:
        """The notes that remain, the most pressing first."""
        return tuple(each for each in self.notes if not each.is_done)


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
        part = read_part_for(transcript, settings, instrument.transposition)
        return judge_part(session, instrument, part)


def judge_part(
    session: Session,
    instrument: Instrument,
    part: ScorePart,
    decisions: Decisions | None = None,
) -> PieceTodo:
    """Say how each note of a part stands on an instrument, within a transaction."""
    decisions = decisions or Decisions()
    needs = collect_needs(part, instrument.transposition)
    ordinary = ordinary_cents(instrument.layout, instrument.kind_id)
    judge = _read_judge_for(session, instrument, needs, ordinary)
    notes = [_decide(each, decisions) for each in judge_needs(needs, judge, ordinary)]
    soft = [each.answer for each in notes if is_soft(each.need)]
    figures = load_soft_figures(session, soft)
    notes = [
        replace(each, softly=judge_softly(each.answer, figures)) if is_soft(each.need) else each
        for each in notes
    ]
    return PieceTodo(
        instrument,
        part,
        tuple(_sort(notes)),
        needs.apart,
        find_preferences(session),
        len(needs.notes) - len(notes),
    )


def _read_judge_for(
    session: Session, instrument: Instrument, needs: PartNeeds, ordinary: Collection[Fraction]
) -> Judge:
    """Read what can matter for the notes that need thought, and for what is nearest to them."""
    own = load_tolerances(session, [instrument.id])
    wanted = [
        each.written
        for each in needs.notes
        if each.written.cents not in ordinary
        or (instrument.id, exact_key(each.written.cents)) in own
    ]
    return read_judge_of(session, instrument, wanted, Look(width_cents=NEAREST_WITHIN_CENTS))


def _decide(note: TodoNote, decisions: Decisions) -> TodoNote:
    written = note.need.written
    return replace(
        note,
        settled=decisions.settled_note(written),
        fixed=decisions.fixed_for(written),
        composers=decisions.composers_for([written]),
    )


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
            todo.is_solved,
            todo.settled is not None,
            _PRESSING.index(best.standing if best else None),
            max(need.closeness, Closeness.HELD),  # a just interval is as exposed as a held note
            -float(longest),
            -need.count,
            float(need.written.cents),
        )

    return sorted(notes, key=press)
