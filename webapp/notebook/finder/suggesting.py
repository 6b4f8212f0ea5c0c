"""Suggestions for a target: the finder asked on behalf of one player."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.finder.inputs import NO_WISHES, Wishes
from analysis.finder.results import Suggestions
from analysis.keywork import KeyStates
from analysis.pitch import NoteNames, WrittenPitch
from webapp.notebook.finder.finder_evidence import (
    Evidence,
    collect_evidence,
    has_model,
    model_name,
    model_of,
)
from webapp.notebook.finder.known_choices import NeighbourNote, find_neighbour
from webapp.notebook.finder.lip_tries import learn_from_takes
from webapp.notebook.preferences.preferences import find_preferences
from webapp.notebook.store.errors import FieldRefused
from webapp.notebook.store.fetching import fetch
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import PATIENCE_S, Failed, Ready, ResultCache, Working
from webapp.notebook.store.rows import DismissReason, Instrument, Suggestion, TryState
from webapp.notebook.targets.answers import answer_note
from webapp.notebook.targets.bases import StartingPoint, bases_to_try, neighbour_bases
from webapp.notebook.targets.note_answer import NoteAnswer
from webapp.notebook.targets.reading import read_target

if TYPE_CHECKING:
    from analysis.finder import MotionCosts, PlayerModel

MOST_CHANGES_OFFERED = 4


@dataclass(frozen=True, slots=True)
class WishList:
    """Wishes of the player, as the page asks for them; `colour` names a neighbour, or neither.

    `before` and `after` are the notes that it stands between, as typed, empty where not asked.
    """

    tolerance_cents: float = 10.0
    has_half_holes: bool = False
    most_changes: int = 3
    must_be_free: frozenset[str] = frozenset()
    must_be_down: frozenset[str] = frozenset()
    colour: str = ""
    most_shown: int = 5
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class SuggestionPage:
    """What the finder says to a target; `working` or `failed` where it says nothing yet.

    `answer` is what the notebook has for it already.
    """

    instrument: Instrument
    written: WrittenPitch
    evidence: Evidence
    answer: NoteAnswer
    # for a note above all that is ordinary: the highest that is, and what to try
    highest: StartingPoint | None = None
    to_try: tuple[StartingPoint, ...] = ()
    suggestions: Suggestions | None = None
    log_count: int = 0
    working: Working | None = None
    failed: Failed | None = None
    before: NeighbourNote | None = None
    after: NeighbourNote | None = None


def find_suggestions(
    notebook: Notebook,
    result_cache: ResultCache,
    instrument_id: int,
    target: str,
    wishes: WishList,
    *,
    names: NoteNames,
    patience_s: float = PATIENCE_S,
) -> SuggestionPage:
    """Suggest fingerings for a target.

    Raises:
        NotInNotebook: no such instrument.
        FieldRefused: the target or a note beside it can't be read, nothing is known for one beside
            it, or the wishes contradict each other.
    """
    refuse_contradictions(wishes)
    with notebook.database.reading() as session:
        instrument = fetch(session, Instrument, instrument_id)
        system = find_preferences(session).accidentals
        written = read_target(target, instrument, names, field="q", system=system)
        question = ask_within(session, instrument, written, wishes)
        own = question.page.evidence.own
        find = partial(find_neighbour, session, instrument, names=names, system=system, own=own)
        before, after = find(wishes.before, field="before"), find(wishes.after, field="after")
        question = replace(question, page=replace(question.page, before=before, after=after))
    return answer_question(notebook, result_cache, question, patience_s=patience_s)


@dataclass(frozen=True, slots=True)
class Question:
    """What the finder is asked, with all that it needs of the database."""

    page: SuggestionPage
    wishes: Wishes
    most_shown: int


def ask_within(
    session: Session, instrument: Instrument, written: WrittenPitch, wishes: WishList
) -> Question:
    """Gather what the finder needs within a transaction that reads more."""
    page = _open(session, instrument, written)
    dismissed = find_dismissed(session, instrument.id, written)
    asked = read_wishes(wishes, page, dismissed, learn_from_takes(session, instrument))
    return Question(page, asked, wishes.most_shown)


def answer_question(
    notebook: Notebook,
    result_cache: ResultCache,
    question: Question,
    *,
    patience_s: float = PATIENCE_S,
) -> SuggestionPage:
    """Let the finder answer, or say how far the making of its model has come."""
    page = question.page
    outcome = model_of(
        notebook, result_cache, page.instrument, page.evidence, patience_s=patience_s
    )
    if isinstance(outcome, Working):
        return replace(page, working=outcome)
    if isinstance(outcome, Failed):
        return replace(page, failed=outcome)
    return _ask(page, outcome.value, question.wishes, question.most_shown)


def peek_suggestions(
    session: Session,
    notebook: Notebook,
    result_cache: ResultCache,
    instrument: Instrument,
    written: WrittenPitch,
    wishes: WishList,
) -> SuggestionPage | None:
    """Suggest fingerings for a target if that takes no time; None where a model must be made."""
    if not result_cache.knows(model_name(instrument.id)):
        return None
    page = _open(session, instrument, written)
    if not has_model(result_cache, instrument, page.evidence):
        return None
    dismissed = find_dismissed(session, instrument.id, written)
    outcome = model_of(notebook, result_cache, instrument, page.evidence)
    if not isinstance(outcome, Ready):
        return None
    asked = read_wishes(wishes, page, dismissed, learn_from_takes(session, instrument))
    return _ask(page, outcome.value, asked, wishes.most_shown)


def _open(session: Session, instrument: Instrument, written: WrittenPitch) -> SuggestionPage:
    answer = answer_note(session, instrument, written)
    evidence = collect_evidence(session, instrument)
    return SuggestionPage(
        instrument,
        written,
        evidence,
        answer,
        neighbour_bases(instrument, written, evidence.own)[0],
        bases_to_try(instrument, written, evidence.own),
    )


def _ask(page: SuggestionPage, model: PlayerModel, wishes: Wishes, count: int) -> SuggestionPage:
    from analysis.finder import suggest

    found = suggest(
        page.written,
        model=model,
        starts=page.evidence.starts,
        wishes=wishes,
        count=count,
        find_motion=_motion_costs(page, model),
    )
    return replace(page, suggestions=found, log_count=model.log_count)


def _motion_costs(page: SuggestionPage, model: PlayerModel) -> MotionCosts | None:
    """Return what weighs the ways from the note before and to the note after, if one is asked."""
    if page.before is None and page.after is None:
        return None
    from analysis.planning import Played, find_neighbour_costs, motion_table_of

    def play(note: NeighbourNote | None) -> tuple[Played, ...]:
        if note is None:
            return ()
        return tuple(Played(keys, float(note.written.cents)) for keys in note.choices)

    return partial(
        find_neighbour_costs,
        motion_table_of(model.tube),
        float(page.written.cents),
        before=play(page.before),
        after=play(page.after),
    )


def refuse_contradictions(wishes: WishList) -> None:
    """Refuse wishes that nothing can meet.

    Raises:
        FieldRefused: a key is to be free and down at once, or the number of changes is off.
    """
    if wishes.must_be_free & wishes.must_be_down:
        raise FieldRefused(
            "down", "A key cannot stay free and be held at once. Take it out of one of the lists."
        )
    if not 1 <= wishes.most_changes <= MOST_CHANGES_OFFERED:
        raise FieldRefused(
            "changes", f"Between 1 and {MOST_CHANGES_OFFERED} keys may change against the base."
        )


def read_wishes(
    wishes: WishList,
    page: SuggestionPage,
    dismissed: frozenset[str],
    known: Wishes = NO_WISHES,
) -> Wishes:
    """Say to the finder what the player wishes for a target, beside what is known of the lip."""
    return replace(
        known,
        tolerance_cents=wishes.tolerance_cents,
        has_half_holes=wishes.has_half_holes,
        most_changes=wishes.most_changes,
        must_be_free=wishes.must_be_free,
        must_be_down=wishes.must_be_down,
        prefers_colour_of=_colour_model(wishes.colour, page),
        dismissed=dismissed,
    )


def _colour_model(colour: str, page: SuggestionPage) -> KeyStates | None:
    if not colour:
        return None
    below, above = neighbour_bases(page.instrument, page.written, page.evidence.own)
    base = {"below": below, "above": above}.get(colour)
    return base.keys if base else None


def find_dismissed(session: Session, instrument_id: int, written: WrittenPitch) -> frozenset[str]:
    """Return the keys that were dismissed for this target, or for all as awkward to hold."""
    query = select(Suggestion.keys_text).where(
        Suggestion.instrument_id == instrument_id,
        Suggestion.state == TryState.DISMISSED.value,
        Suggestion.is_for(written) | (Suggestion.reason == DismissReason.AWKWARD.value),
    )
    return frozenset(session.scalars(query))
