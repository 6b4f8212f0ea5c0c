"""Soft notes: what is asked for at pp is judged by takes at pp.

Where a fingering has none, its figure counts with a wider uncertainty: a clarinet rises as it gets
softer, by 5 to 10 cents from mf to pp (common practice, from memory).
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from math import hypot

from sqlalchemy import select
from sqlalchemy.orm import Session, defer, selectinload

from analysis.pitch import SoundingPitch
from analysis.recording import TakeStanding, pool_takes
from webapp.notebook.pieces.needs import NoteNeed
from webapp.notebook.store.rows import Fingering, Measurement, Take
from webapp.notebook.takes.evidence import correct_for_day
from webapp.notebook.targets.note_answer import NoteAnswer, Part
from webapp.notebook.targets.standing import Judged, Note, judge

SOFT = frozenset({"n", "pppp", "ppp", "pp"})
SOFT_TAKE = "pp"
SOFT_UNCERTAINTY_CENTS = 8.0
CANDIDATES = 6


@dataclass(frozen=True, slots=True)
class SoftFigure:
    """Where a fingering sounds at pp, in cents with A4 = 6900, and from how many takes."""

    sounding_cents: float
    uncertainty_cents: float
    take_count: int


SoftFigures = Mapping[int, SoftFigure]


@dataclass(frozen=True, slots=True)
class SoftJudgement:
    """How the best fingering stands at pp; without a take at pp its uncertainty is wider."""

    judged: Judged
    uncertainty_cents: float | None
    take_count: int

    @property
    def is_proven(self) -> bool:
        """Whether a take at pp stands behind it."""
        return self.take_count > 0


def is_soft(need: NoteNeed) -> bool:
    """Whether a part asks for a note at pp or softer anywhere."""
    return not SOFT.isdisjoint(need.dynamics)


def load_soft_figures(session: Session, answers: Iterable[NoteAnswer]) -> SoftFigures:
    """Pool the takes at pp of the first candidates of some notes; those that have none are out."""
    ids = {each.facts.fingering_id for answer in answers for each in _list_candidates(answer)}
    return _pool(session, ids) if ids else {}


def _list_candidates(answer: NoteAnswer) -> list[Judged]:
    """Return the first of what may be played for a note; the rest is not worked out."""
    return [answer.judged(place) for place in answer.order(Part.RANKED)[:CANDIDATES]]


def _pool(session: Session, fingering_ids: Collection[int]) -> SoftFigures:
    query = (
        select(Take)
        .where(
            Take.fingering_id.in_(fingering_ids),
            Take.deleted_at.is_(None),
            Take.dynamic == SOFT_TAKE,
            Take.standing == TakeStanding.COUNTS.value,
        )
        .options(
            selectinload(Take.measurements).options(defer(Measurement.details, raiseload=True))
        )
        .order_by(Take.recorded_at, Take.id)
    )
    takes: dict[int, list[Take]] = defaultdict(list)
    for take in session.scalars(query):
        if take.fingering_id is not None:
            takes[take.fingering_id].append(take)
    meant = select(Fingering.id, Fingering.target_cents).where(Fingering.id.in_(takes))
    targets = dict(session.execute(meant).all()) if takes else {}
    figures = {}
    for number, played in takes.items():
        offsets = correct_for_day(session, played, SoundingPitch(targets[number]))
        if offsets:
            pooled = pool_takes(list(offsets.values()))
            figures[number] = SoftFigure(
                targets[number] + pooled.offset_cents, pooled.uncertainty_cents, pooled.take_count
            )
    return figures


def judge_softly(answer: NoteAnswer, figures: SoftFigures) -> SoftJudgement | None:
    """Say how a note stands at pp: by its takes at pp, else by all with a wider uncertainty.

    None where nothing may be played for it.
    """
    candidates = _list_candidates(answer)
    proven = [
        SoftJudgement(_at(each, figures[each.facts.fingering_id], answer.note),
                      figures[each.facts.fingering_id].uncertainty_cents,
                      figures[each.facts.fingering_id].take_count)
        for each in candidates
        if each.facts.fingering_id in figures and not each.is_rejected
    ]  # fmt: skip
    solved = next((each for each in proven if each.judged.is_solution), None)
    if solved is not None:
        return solved
    best = answer.best
    if best is None:
        return None
    same = next((each for each in proven if _is_of(each, best)), None)
    if same is not None:
        return same
    known = best.facts.uncertainty_cents
    wider = None if known is None else hypot(known, SOFT_UNCERTAINTY_CENTS)
    return SoftJudgement(best, wider, 0)


def _at(judged: Judged, figure: SoftFigure, note: Note) -> Judged:
    facts = judged.facts._replace(
        sounding_cents=figure.sounding_cents,
        uncertainty_cents=figure.uncertainty_cents,
        take_count=figure.take_count,
    )
    return judge(facts, note, judged.word)


def _is_of(soft: SoftJudgement, best: Judged) -> bool:
    return soft.judged.facts.fingering_id == best.facts.fingering_id
