"""Order of merit: which fingering is the best for a note, and why, in one place.

The player's own choice comes first, then what is in tune, near, not tried, elsewhere; what the
player rejected comes last, and what does not speak after all. In tune all pitches count as equal:
then comes what a player chooses by. What is not tried goes by what it is meant for in the same way.
A half-hole is the last among equals, since it cannot be set the same way twice (common practice,
from memory). Near ones are sorted by what is missing.
"""

from collections.abc import Callable, Iterable, Sequence

from analysis.keywork import AWKWARD_FIGURE
from webapp.notebook.store.rows import Circumstance
from webapp.notebook.targets.standing import Judged, Note, Standing

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
_CHOICE_PLACE, _REJECTED_PLACE = 0, 5
_CIRCUMSTANCES = tuple(Circumstance)


def rank(judged: Iterable[Judged], note: Note) -> tuple[Judged, ...]:
    """Sort what was judged for a note, the best first."""
    return tuple(sorted(judged, key=lambda each: merit(each, note)))


def merit(judged: Judged, note: Note) -> tuple[float, ...]:
    """Return what sorts fingerings for a note: the smaller, the better."""
    return (*_place(judged), *(measure(judged, note) for measure, _ in _measures(judged.standing)))


def explain_first(ranked: Sequence[Judged], note: Note) -> str:
    """Say in a few words why the first is first; empty where nothing may be played."""
    if not ranked or ranked[0].is_rejected:
        return ""
    first, second = ranked[0], ranked[1] if len(ranked) > 1 else None
    if first.is_held_choice:
        return "your choice"
    words = {
        Standing.IN_TUNE: "in tune",
        Standing.NEAR: _near_words(first),
        Standing.NOT_TRIED: "not measured yet",
    }.get(first.standing, "")
    if second is None or _place(second) != _place(first):
        in_tune = sum(each.standing is Standing.IN_TUNE for each in ranked)
        return "the only one in tune" if words == "in tune" and in_tune == 1 else words
    deciding = (
        why
        for measure, why in _measures(first.standing)
        if measure(first, note) != measure(second, note)
    )
    why = next(deciding, "")
    return f"{words}, {why}" if why and words else words


def _place(judged: Judged) -> tuple[float, float]:
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


def _measures(standing: Standing) -> tuple["Measure", ...]:
    if standing is Standing.IN_TUNE:
        return (*_CHOSEN_BY, _OFFSET, _NUMBER)
    if standing is Standing.NEAR:
        return (_MISSING, *_CHOSEN_BY, _NUMBER)
    if standing is Standing.NOT_TRIED:
        return (_ASIDE, *_CHOSEN_BY, _OFFSET, _NUMBER)
    return (_AWAY, *_CHOSEN_BY, _NUMBER)


def _half_hole(judged: Judged, _: Note) -> float:
    return judged.facts.has_half_hole


def _fails(judged: Judged, _: Note) -> float:
    facts = judged.facts
    every = facts.take_count + facts.failed_take_count
    return every > 0 and facts.failed_take_count / every > FAILED_SHARE


def _slow_at_pp(judged: Judged, _: Note) -> float:
    """By the player's word: yes, not tried, no."""
    return {True: 0, None: 1, False: 2}[judged.facts.speaks_softly]


def _resistance(judged: Judged, _: Note) -> float:
    known = judged.facts.resistance
    return USUAL_RESISTANCE if known is None else known


def _awkward(judged: Judged, _: Note) -> float:
    ease = judged.facts.ease
    return ease is not None and ease < AWKWARD_FIGURE


def _unsteady(judged: Judged, _: Note) -> float:
    spread = judged.facts.spread_cents
    return 0 if spread is None else int(spread / SPREAD_BAND_CENTS)


def _unproved(judged: Judged, _: Note) -> float:
    return -min(judged.facts.take_count, TAKES_THAT_COUNT)


def _missing(judged: Judged, note: Note) -> float:
    return round(abs(judged.offset_cents or 0.0) - note.tolerance_cents)


def _away(judged: Judged, note: Note) -> float:
    return round(abs(judged.facts.sounding_cents - note.sounding.cents), 1)


def _aside(judged: Judged, note: Note) -> float:
    """What is meant for a note within its tolerance is meant for the note."""
    return max(0.0, _away(judged, note) - note.tolerance_cents)


def _number(judged: Judged, _: Note) -> float:
    return judged.facts.fingering_id


Measure = tuple[Callable[[Judged, Note], float], str]
# each in the order in which it decides, with why it put the first before the second
_CHOSEN_BY: tuple[Measure, ...] = (
    (_half_hole, "without a half-hole"),
    (_fails, "and it speaks safely"),
    (_slow_at_pp, "and it speaks at pp"),
    (_resistance, "the freest"),
    (_awkward, "easy for the hands"),
    (_unsteady, "the steadiest"),
    (_unproved, "the best measured"),
)
_OFFSET: Measure = (_away, "the nearest")
_MISSING: Measure = (_missing, "")
_AWAY: Measure = (_away, "")
_ASIDE: Measure = (_aside, "")
_NUMBER: Measure = (_number, "")
