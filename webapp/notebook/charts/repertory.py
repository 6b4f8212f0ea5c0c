"""Repertory of a player for composers and teachers: steps between the semitones, and trills.

Everything is the player's own or ordinary, nothing is predicted. The judge says how each step
stands; trills and tremolos are pairs of what may be played, by what they cost the hands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session, defer, selectinload

from analysis.errors import AnalysisError
from analysis.keywork import KeyStates, Layout, parse_fingering
from analysis.pitch import EqualDivision, Register, SoundingPitch, WrittenPitch, register_of
from analysis.recording import TakeStanding
from webapp.drawing.dynamics import DynamicOffset
from webapp.notebook.charts.charts import last_change
from webapp.notebook.finder.known_choices import KnownChoice, to_unpredicted
from webapp.notebook.fingerings.shifts import pool_by_dynamic
from webapp.notebook.preferences.preferences import Writing, find_preferences
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import (
    PATIENCE_S,
    Failed,
    Ready,
    Report,
    ResultCache,
    Working,
)
from webapp.notebook.store.rows import Fingering, Instrument, Measurement, Take
from webapp.notebook.takes.evidence import correct_for_day
from webapp.notebook.targets.answers import Judge, read_judge
from webapp.notebook.targets.bases import listed_bases, own_ordinary
from webapp.notebook.targets.facts import Look, load_texts
from webapp.notebook.targets.note_answer import NoteAnswer, Part
from webapp.notebook.targets.range import choose_grid
from webapp.notebook.targets.standing import Judged, Standing

if TYPE_CHECKING:
    from analysis.planning import Playable, TrillStep

STEPS = (24, 48)
_SEMITONE_CENTS = 100
_QUARTER_TONES = EqualDivision(24)
_CHOICES_A_NOTE = 3


@dataclass(frozen=True, slots=True)
class RepertoryStep:
    """A step of the range: what may be played for it, at which dynamics.

    `judged` is None for a step without a fingering; a silent one is what was tried.
    """

    written: WrittenPitch
    register: Register
    judged: Judged | None = None
    keys_text: str = ""
    dynamics: tuple[DynamicOffset, ...] = ()

    @property
    def words(self) -> str:
        """How it stands."""
        return "open" if self.judged is None else self.judged.standing.value

    @property
    def is_open(self) -> bool:
        """Whether nothing can be played for it."""
        return self.judged is None or self.judged.standing is Standing.SILENT

    @property
    def remarks(self) -> tuple[str, ...]:
        """Remarks for a composer."""
        if self.judged is None or self.is_open:
            return ()
        facts = self.judged.facts
        softly = {True: "speaks at pp", False: "slow to speak at pp", None: ""}
        words = (
            "half-hole" if facts.has_half_hole else "",
            f"resistance {facts.resistance} of 5" if facts.resistance else "",
            softly[facts.speaks_softly],
        )
        return tuple(filter(None, words))


@dataclass(frozen=True, slots=True)
class Repertory:
    """Repertory on one instrument; `trills` are there when they are worked out."""

    instrument: Instrument
    writing: Writing
    as_of: date
    steps: tuple[RepertoryStep, ...]
    trills: tuple[TrillStep, ...] = ()
    working: Working | None = None
    failed: Failed | None = None

    def by_register(self) -> tuple[tuple[Register, tuple[RepertoryStep, ...]], ...]:
        """The steps that can be played, register by register."""
        playable = [step for step in self.steps if not step.is_open]
        groups = groupby(playable, key=lambda step: step.register)
        return tuple((register, tuple(steps)) for register, steps in groups)

    @property
    def open_steps(self) -> tuple[RepertoryStep, ...]:
        """The steps for which nothing can be played yet."""
        return tuple(step for step in self.steps if step.is_open)

    def by_note(self) -> tuple[tuple[WrittenPitch, tuple[TrillStep, ...]], ...]:
        """The trills of each lower note that has any, rising."""
        groups = groupby(self.trills, key=lambda step: step.lower)
        rows = ((lower, tuple(steps)) for lower, steps in groups)
        return tuple(row for row in rows if any(step.pair for step in row[1]))


def open_repertory(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    *,
    steps_per_octave: int = STEPS[0],
    patience_s: float = PATIENCE_S,
) -> Repertory:
    """Say what a player has on an instrument: steps of a grid, trills between quarter tones.

    Semitones count as ordinary; they are listed where something is measured for them.

    Raises:
        NotInNotebook: no such instrument.
    """
    division = EqualDivision(steps_per_octave if steps_per_octave in STEPS else STEPS[0])
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        judge = read_judge(session, instrument, look=Look(is_brief=True))
        answers = {
            written.cents: (written, judge.answer(written))
            for written in choose_grid(instrument, division)
        }
        steps = _list_steps(session, instrument, answers.values())
        notes = tuple(choose_grid(instrument, _QUARTER_TONES))
        choices = _gather_choices(session, instrument, judge, notes)
        page = Repertory(
            instrument,
            find_preferences(session),
            last_change(session, instrument),
            steps,
        )
    order = (instrument.kind_id, instrument.layout, notes, choices)

    def work(report: Report) -> tuple[TrillStep, ...]:
        from analysis.planning import load_motion_table, tabulate_trills

        table = load_motion_table(instrument.kind_id, instrument.layout)
        return tabulate_trills(table, dict(choices), notes, report=report)

    outcome = result_cache.ask(("repertory", instrument_id), order, work, patience_s=patience_s)
    if isinstance(outcome, Ready):
        return replace(page, trills=outcome.value)
    if isinstance(outcome, Working):
        return replace(page, working=outcome)
    return replace(page, failed=outcome)


def _list_steps(
    session: Session,
    instrument: Instrument,
    answers: Iterable[tuple[WrittenPitch, NoteAnswer]],
) -> tuple[RepertoryStep, ...]:
    """List the steps between the semitones, and the semitones for which something is measured."""
    shown: list[tuple[WrittenPitch, Judged | None]] = []
    for written, answer in answers:
        best = answer.best
        if written.cents % _SEMITONE_CENTS == 0:
            if best is not None and best.facts.is_measured:
                shown.append((written, best))
        else:
            shown.append((written, best or next(iter(answer.silent), None)))
    ids = [judged.facts.fingering_id for _, judged in shown if judged is not None]
    texts, dynamics = load_texts(session, ids), _load_dynamics(session, ids)
    kind = instrument.kind
    return tuple(
        RepertoryStep(
            written,
            register_of(kind.in_treble_notation(written)),
            judged,
            texts[judged.facts.fingering_id][0] if judged else "",
            _at_note(judged, dynamics.get(judged.facts.fingering_id, ())) if judged else (),
        )
        for written, judged in shown
    )


def _at_note(judged: Judged, dynamics: Iterable[DynamicOffset]) -> tuple[DynamicOffset, ...]:
    """Count the offsets by dynamic from the note, not from what the fingering was logged for."""
    facts = judged.facts
    moved = (judged.offset_cents or 0.0) - (facts.sounding_cents - facts.target_cents)
    return tuple(replace(each, offset_cents=each.offset_cents + moved) for each in dynamics)


def _load_dynamics(session: Session, ids: Iterable[int]) -> dict[int, tuple[DynamicOffset, ...]]:
    """Pool the counting takes of some fingerings by dynamic, in cents from their own targets."""
    query = (
        select(Take, Fingering.id, Fingering.target_cents)
        .join(Fingering, Fingering.id == Take.fingering_id)
        .where(
            Take.fingering_id.in_(set(ids)),
            Take.deleted_at.is_(None),
            Take.dynamic.is_not(None),
            Take.standing == TakeStanding.COUNTS.value,
        )
        .options(
            selectinload(Take.measurements).options(defer(Measurement.details, raiseload=True))
        )
        .order_by(Take.recorded_at, Take.id)
    )
    takes: dict[tuple[int, float], list[Take]] = defaultdict(list)
    for take, number, target_cents in session.execute(query):
        takes[number, target_cents].append(take)
    return {
        number: pool_by_dynamic(played, correct_for_day(session, played, SoundingPitch(target)))
        for (number, target), played in takes.items()
    }


Choices = tuple[tuple[Fraction, "tuple[Playable, ...]"], ...]


def _gather_choices(
    session: Session, instrument: Instrument, judge: Judge, notes: Iterable[WrittenPitch]
) -> Choices:
    """Gather what may be played for each note: the best logged ones, then ordinary ones."""
    logged: dict[Fraction, list[Judged]] = {}
    for written in notes:
        answer = judge.answer(written)
        first = (answer.judged(row) for row in answer.order(Part.RANKED)[:_CHOICES_A_NOTE])
        logged[written.cents] = [each for each in first if each.is_serving]
    ids = [each.facts.fingering_id for some in logged.values() for each in some]
    texts = load_texts(session, ids)
    ordinary = _list_ordinary(session, instrument)
    return tuple(
        (cents, _to_playable(some, texts, ordinary.get(cents, []), instrument.layout))
        for cents, some in logged.items()
    )


def _list_ordinary(session: Session, instrument: Instrument) -> dict[Fraction, list[KeyStates]]:
    """List the ordinary fingerings by note: the player's own where there is one."""
    own = own_ordinary(session, instrument)
    found: dict[Fraction, list[KeyStates]] = defaultdict(list)
    for base in (*own.values(), *listed_bases(instrument)):
        is_replaced = base.fingering_id is None and base.written.cents in own
        if not base.is_to_try and not is_replaced:
            found[base.written.cents].append(base.keys)
    return found


def _to_playable(
    logged: Iterable[Judged],
    texts: Mapping[int, tuple[str, str]],
    ordinary: Iterable[KeyStates],
    layout: Layout,
) -> tuple[Playable, ...]:
    from analysis.planning import TRILL_TOLERANCE_CENTS

    read = ((_read_keys(texts[each.facts.fingering_id][0], layout), each) for each in logged)
    known = [KnownChoice(keys, judged) for keys, judged in read if keys is not None]
    return to_unpredicted(known, ordinary, TRILL_TOLERANCE_CENTS)


@lru_cache(maxsize=2048)
def _read_keys(text: str, layout: Layout) -> KeyStates | None:
    try:
        return parse_fingering(text, layout)
    except AnalysisError:
        return None
