"""Scores of a run-through against a performance of which every note is known.

A note is matched rightly when what was heard over most of its time has its place in the passage,
and is called right or wrong as it was. Of a pitch that was told, the error counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.performance import ExpectedPassage, SoundedNote, read_performance
from tests.analysis.performance.performances import RATE, Performance, Sounded

LONG_S, SHORT_S = 0.25, 0.1
QUICK_S = 0.15


@dataclass(frozen=True)
class ScoredNote:
    """One note that was played; `error_cents` and `uncertainty_cents` None where none was told."""

    length_s: float
    is_wrong: bool
    is_matched: bool
    error_cents: float | None
    uncertainty_cents: float | None
    onset_error_s: float | None


def score(passage: ExpectedPassage, performance: Performance) -> list[ScoredNote]:
    """Read a performance, and score each note that was played."""
    run = read_performance(performance.samples, RATE, passage)
    return [_score_note(each, run.played) for each in performance.notes]


def _score_note(note: Sounded, played: Sequence[SoundedNote]) -> ScoredNote:
    def overlap(each: SoundedNote) -> float:
        return min(each.to_s, note.to_s) - max(each.from_s, note.from_s)

    heard = max(played, key=overlap, default=None)
    if heard is None or overlap(heard) <= 0:
        return ScoredNote(note.length_s, note.is_wrong, False, None, None, None)
    is_matched = heard.place == note.place and heard.is_right is not note.is_wrong
    error = None
    if is_matched and heard.uncertainty_cents is not None:
        error = heard.height_cents - note.height_cents
    return ScoredNote(
        note.length_s,
        note.is_wrong,
        is_matched,
        error,
        heard.uncertainty_cents,
        heard.from_s - note.from_s,
    )


def share_matched(notes: Sequence[ScoredNote], least_s: float, most_s: float = 99.0) -> float:
    """The share of the notes of some length that were matched rightly."""
    some = [each.is_matched for each in notes if least_s <= each.length_s < most_s]
    return float(np.mean(some))


def find_errors(notes: Sequence[ScoredNote], least_s: float, most_s: float = 99.0) -> list[float]:
    """The errors in cents, above 0, of the pitches told of notes of some length."""
    return [
        abs(each.error_cents)
        for each in notes
        if each.error_cents is not None and least_s <= each.length_s < most_s
    ]
