"""Order of merit: which fingering is the best for a note, and why, in one place.

The player's own choice comes first, then what is in tune, near, not tried, elsewhere; what the
player rejected comes last, and what does not speak after all. In tune all pitches count as equal:
then comes what a player chooses by. What is not tried goes by what it is meant for in the same way.
A half-hole is the last among equals, since it cannot be set the same way twice (common practice,
from memory). Near ones are sorted by what is missing.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.keywork import AWKWARD_FIGURE
from webapp.notebook.store.rows import Circumstance
from webapp.notebook.targets.columns import FactColumns
from webapp.notebook.targets.standing import (
    STANDINGS,
    Judged,
    Note,
    Standing,
    Word,
    round_as_shown,
)

USUAL_RESISTANCE = 3  # where none is noted
TAKES_THAT_COUNT = 5  # more of them say no more about which to choose
SPREAD_BAND_CENTS = 5.0
FAILED_SHARE = 0.25  # more takes without a pitch than this, and it does not speak safely
_PLACES = {
    Standing.IN_TUNE: 1,
    Standing.NEAR: 2,
    Standing.NOT_TRIED: 3,
    Standing.ELSEWHERE: 4,
    Standing.SILENT: 6,
}
_PLACE_OF = np.array([_PLACES[each] for each in STANDINGS])
_CHOICE_PLACE, _REJECTED_PLACE = 0, 5
_CIRCUMSTANCES = tuple(Circumstance)

Merits = tuple[NDArray[np.float64] | NDArray[np.int64], ...]
"""What sorts fingerings: arrays of shape (n,), the deciding one first; the smaller, the better."""


def rank(judged: Iterable[Judged], note: Note) -> tuple[Judged, ...]:
    """Sort what was judged for a note, the best first."""
    every = list(judged)
    return tuple(every[place] for place in sort_by(_find_merits_of(every, note)))


def merit(judged: Judged, note: Note) -> tuple[float, ...]:
    """Return what sorts fingerings for a note: the smaller, the better."""
    return tuple(each[0].item() for each in _find_merits_of([judged], note))


def sort_by(merits: Merits) -> NDArray[np.intp]:
    """Return the places of fingerings in the order of merit, shape (n,)."""
    return np.lexsort(merits[::-1])


def find_merits(
    known: FactColumns,
    standings: NDArray[np.int8],
    words: Mapping[int, Word],
    note: Note,
    grades: NDArray[np.int64],
) -> Merits:
    """Find what sorts fingerings for a note.

    Args:
        known: their facts, n rows.
        standings: how each stands to the note, shape (n,), places in `STANDINGS`.
        words: the player's words on them for the note, by row.
        note: the note.
        grades: what they are chosen by, shape (n,), from `find_grades`.
    """
    first = _PLACE_OF[standings].astype(np.int64)
    second = np.zeros(len(known), dtype=np.int64)
    for place, word in words.items():
        standing = STANDINGS[standings[place]]
        first[place], second[place] = _place(Judged(known.facts(place), standing, None, word))
    away = round_as_shown(np.abs(known.column("sounding_cents") - note.sounding.cents))
    missing = np.rint(np.abs(known.offsets_from(note.sounding.cents)) - note.tolerance_cents)
    # what is meant for a note within its tolerance is meant for the note
    aside = np.maximum(0.0, away - note.tolerance_cents)
    is_in_tune, is_near, _, is_not_tried, _ = (
        standings == number for number in range(len(STANDINGS))
    )
    before = np.select([is_in_tune, is_near, is_not_tried], [0.0, missing, aside], away)
    after = np.where(is_in_tune | is_not_tried, away, 0.0)
    return first, second, before, grades, after, known.numbers


def _find_merits_of(every: Sequence[Judged], note: Note) -> Merits:
    known = FactColumns.of_facts(each.facts for each in every)
    standings = np.array([STANDINGS.index(each.standing) for each in every], dtype=np.int8)
    words = {place: each.word for place, each in enumerate(every) if each.word is not None}
    return find_merits(known, standings, words, note, find_grades(known))


def explain_first(ranked: Sequence[Judged], note: Note, in_tune_count: int | None = None) -> str:
    """Say in a few words why the first is first; empty where nothing may be played.

    Of `ranked` the first two are looked at, if it is said how many of all are in tune.
    """
    if not ranked or ranked[0].is_rejected:
        return ""
    first, second = ranked[0], ranked[1] if len(ranked) > 1 else None
    if first.is_held_choice:
        return "your choice"
    words = {
        Standing.IN_TUNE: "in tune",
        Standing.NEAR: _near_words(first),
        Standing.NOT_TRIED: "not tried",
    }.get(first.standing, "")
    if second is None or _place(second) != _place(first):
        if in_tune_count is None:
            in_tune_count = sum(each.standing is Standing.IN_TUNE for each in ranked)
        return "the only one in tune" if words == "in tune" and in_tune_count == 1 else words
    why = _find_why([first, second], note)
    return f"{words}, {why}" if why and words else words


def _find_why(pair: Sequence[Judged], note: Note) -> str:
    """Say by what the first of two comes before the second, both standing alike."""
    known = FactColumns.of_facts(each.facts for each in pair)
    _, _, before, grades, after, _ = _find_merits_of(pair, note)
    if before[0] != before[1]:
        return ""
    if grades[0] == grades[1]:
        return "the nearest" if after[0] != after[1] else ""
    deciding = (words for find, _, words in _CHOSEN_BY if len(np.unique(find(known))) > 1)
    return next(deciding, "")


def _place(judged: Judged) -> tuple[int, int]:
    if judged.standing is Standing.SILENT:
        return _PLACES[Standing.SILENT], 0
    if judged.is_rejected:
        return _REJECTED_PLACE, _PLACES[judged.standing]
    if judged.is_held_choice and judged.word is not None:
        return _CHOICE_PLACE, min(_CIRCUMSTANCES.index(one) for one in judged.word.circumstances)
    return _PLACES[judged.standing], 0


def _near_words(judged: Judged) -> str:
    offset = judged.offset_cents or 0.0
    side = "sharp" if offset > 0 else "flat"
    return f"near: {abs(offset):.0f} cents {side}, for the lip to close"


def find_grades(known: FactColumns) -> NDArray[np.int64]:
    """Find what fingerings are chosen by among equals, whatever the note: the smaller, the better.

    Returns:
        Shape (n,), all grades of a fingering in one number, the deciding one first.
    """
    grades = np.zeros(len(known), dtype=np.int64)
    for find, count, _ in _CHOSEN_BY:
        grades = grades * count + np.minimum(find(known), count - 1).astype(np.int64)
    return grades


def _half_hole(known: FactColumns) -> NDArray[np.float64]:
    return known.column("has_half_hole")


def _fails(known: FactColumns) -> NDArray[np.float64]:
    failed = known.column("failed_take_count")
    every = known.column("take_count") + failed
    return (failed > FAILED_SHARE * every).astype(np.float64)


def _slow_at_pp(known: FactColumns) -> NDArray[np.float64]:
    """By the player's word: yes, not tried, no."""
    softly = known.column("speaks_softly")
    return np.where(np.isnan(softly), 1.0, np.where(softly > 0, 0.0, 2.0))


def _resistance(known: FactColumns) -> NDArray[np.float64]:
    resistance = known.column("resistance")
    return np.where(np.isnan(resistance), USUAL_RESISTANCE, resistance)


def _awkward(known: FactColumns) -> NDArray[np.float64]:
    return (known.column("ease") < AWKWARD_FIGURE).astype(np.float64)


def _unsteady(known: FactColumns) -> NDArray[np.float64]:
    spread = known.column("spread_cents")
    return np.where(np.isnan(spread), 0.0, np.floor(spread / SPREAD_BAND_CENTS))


def _unproved(known: FactColumns) -> NDArray[np.float64]:
    return TAKES_THAT_COUNT - np.minimum(known.column("take_count"), TAKES_THAT_COUNT)


Grade = Callable[[FactColumns], NDArray[np.float64]]
# each in the order in which it decides: its grades from 0, below how many they stay, and why it put
# the first before the second
_CHOSEN_BY: tuple[tuple[Grade, int, str], ...] = (
    (_half_hole, 2, "without a half-hole"),
    (_fails, 2, "and it speaks safely"),
    (_slow_at_pp, 3, "and it speaks at pp"),
    (_resistance, 6, "the freest"),
    (_awkward, 2, "easy for the hands"),
    (_unsteady, 1 << 20, "the steadiest"),
    (_unproved, TAKES_THAT_COUNT + 1, "the best measured"),
)
