"""Predictions for the notes of a passage: the finder asked for several notes at once.

What it said is kept in memory beside the model that said it, so that the same passage is quick the
second time.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import replace
from threading import Lock
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from analysis.finder import RankedFingering, Wishes
from analysis.pitch import WrittenPitch
from analysis.score import ScorePart
from webapp.notebook.finder.finder_evidence import Evidence, collect_evidence, model_of
from webapp.notebook.finder.suggesting import find_dismissed
from webapp.notebook.pieces.fingered import FingeringWishes, finger_bars
from webapp.notebook.pieces.passage_notes import Stretch
from webapp.notebook.pieces.passage_options import PREDICTED_AT_MOST, Predict
from webapp.notebook.pieces.passage_steps import FingeredPassage
from webapp.notebook.store.notebook import Notebook
from webapp.notebook.store.result_cache import Failed, Ready, ResultCache, Working
from webapp.notebook.store.rows import Instrument

if TYPE_CHECKING:
    from analysis.finder import PlayerModel

PATIENCE_S = 0.3  # the page shows what is known meanwhile, and completes itself
_ANSWERS_KEPT = 2_000

Outcome = tuple[FingeredPassage, Working | Failed | None]


class _AnswersInMemory:
    """Last answers of the finder, each with the model that gave it."""

    def __init__(self) -> None:
        self._answers: OrderedDict[tuple[object, ...], tuple[object, Sequence[RankedFingering]]]
        self._answers = OrderedDict()
        self._lock = Lock()

    def ask(
        self,
        key: tuple[object, ...],
        model: object,
        ask: Callable[[], Sequence[RankedFingering]],
    ) -> Sequence[RankedFingering]:
        """Return an answer, asked for if it is not there."""
        key = id(model), *key
        with self._lock:
            known = self._answers.get(key)
            if known is not None:
                self._answers.move_to_end(key)
                return known[1]
        found = ask()
        with self._lock:
            self._answers[key] = model, found
            while len(self._answers) > _ANSWERS_KEPT:
                self._answers.popitem(last=False)
        return found


_ANSWERS = _AnswersInMemory()


def finger_with_predictions(
    session: Session,
    notebook: Notebook,
    result_cache: ResultCache,
    instrument: Instrument,
    part: ScorePart,
    stretch: Stretch,
    wishes: FingeringWishes,
    *,
    patience_s: float = PATIENCE_S,
) -> Outcome:
    """Finger a passage, with predictions for the notes that nothing of the player's is in tune for.

    Where the player's model is not there yet, the passage comes without predictions, beside how
    far the making of the model has come or why it cannot be made.
    """
    plain = finger_bars(session, instrument, part, stretch, wishes)
    if not plain.is_waiting:
        return plain, None
    evidence = collect_evidence(session, instrument)
    outcome = model_of(notebook, result_cache, instrument, evidence, patience_s=patience_s)
    if not isinstance(outcome, Ready):
        return plain, outcome
    predict = _make_predict(session, instrument, evidence, outcome.value)
    return finger_bars(session, instrument, part, stretch, replace(wishes, predict=predict)), None


def _make_predict(
    session: Session, instrument: Instrument, evidence: Evidence, model: PlayerModel
) -> Predict:
    from analysis.finder import suggest

    def predict(written: WrittenPitch, tolerance_cents: float) -> Sequence[RankedFingering]:
        dismissed = find_dismissed(session, instrument.id, written)
        wishes = Wishes(tolerance_cents=tolerance_cents, dismissed=dismissed)
        return _ANSWERS.ask(
            (written.canonical, tolerance_cents, dismissed, evidence.starts),
            model,
            lambda: (
                suggest(
                    written,
                    model=model,
                    starts=evidence.starts,
                    wishes=wishes,
                    count=PREDICTED_AT_MOST,
                ).items
            ),
        )

    return predict
