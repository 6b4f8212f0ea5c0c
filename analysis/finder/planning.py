"""Plan of tries for a whole range, by expected gain: what is solved, predicted, open."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import NamedTuple

from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.lip import weigh_chances
from analysis.finder.player_model import PlayerModel
from analysis.finder.results import Plan, PlannedTry, RankedFingering
from analysis.finder.suggesting import suggest
from analysis.pitch import WrittenPitch

# A try that adds less to the expected number of closed gaps is not worth listing.
_LEAST_GAIN = 0.10
_TRIES_A_NOTE = 3


class _Gain(NamedTuple):
    """Gain expected of a try, for the note at `place`, as its try number `number`.

    `worth` counts some of what the lip adds, `notes` only what closes a gap without it.
    """

    worth: float
    notes: float
    place: int
    number: int
    suggestion: RankedFingering


def plan_range(
    targets: Sequence[WrittenPitch],
    *,
    model: PlayerModel,
    starts: Sequence[Start],
    wishes: Wishes = NO_WISHES,
    solved: Collection[WrittenPitch] = (),
    report: Callable[[float], None] = lambda share: None,
) -> Plan:
    """Plan how to fill a range of notes.

    Each open note's suggestions are tried in their order; a try adds its worth (its chance, and
    some of what the lip adds) times the chance that those before it failed. Since these only fall
    from try to try, taking the largest first gives the shortest list for what it is expected to
    close.

    Args:
        targets: written pitches in the notation of the model's kind.
        model: the player's model.
        starts: fingerings that work, besides the ordinary ones.
        wishes: what to respect.
        solved: targets that have a measured fingering within the tolerance.
        report: is told after each open target what share of them is done, 0 to 1.

    Returns:
        Every target once as solved, predicted or open; and the tries, largest gain first, each
        adding at least a tenth of a note. Takes as long as a suggestion for each open target.
    """
    done = {target.cents for target in solved}
    gaps = [target for target in targets if target.cents not in done]
    answers = []
    for number, target in enumerate(gaps, start=1):
        found = suggest(target, model=model, starts=starts, wishes=wishes, count=_TRIES_A_NOTE)
        answers.append(found.items)
        report(number / len(gaps))
    is_likely = [bool(items) and items[0].is_within_reach for items in answers]
    gains = [
        gain
        for place, items in enumerate(answers)
        if is_likely[place]
        for gain in _find_gains(place, items)
    ]
    gains.sort(key=lambda gain: (-gain.worth, gain.place, gain.number))
    return Plan(
        solved=tuple(target for target in targets if target.cents in done),
        predicted=tuple(t for t, likely in zip(gaps, is_likely, strict=True) if likely),
        open=tuple(t for t, likely in zip(gaps, is_likely, strict=True) if not likely),
        tries=tuple(PlannedTry(gaps[gain.place], gain.suggestion) for gain in gains),
        expected_closed=sum(gain.notes for gain in gains),
    )


def _find_gains(place: int, items: Sequence[RankedFingering]) -> list[_Gain]:
    gains: list[_Gain] = []
    missed = 1.0
    for number, suggestion in enumerate(items):
        chance = suggestion.chance
        worth = missed * weigh_chances(chance, suggestion.lip_chance)
        if worth < _LEAST_GAIN or (gains and worth > gains[-1].worth):
            break
        gains.append(_Gain(worth, missed * chance, place, number, suggestion))
        missed *= 1.0 - suggestion.chance
    return gains
