"""Ranking of fingerings to try next for a target: the few most promising, each with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis.finder.candidates import Candidates, choose_starts, find_candidates
from analysis.finder.explanations import explain_rank, sum_up
from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.maximum_coverage import choose_together, draw_hits, find_chances, place_early
from analysis.finder.player_model import PlayerModel
from analysis.finder.results import RankedFingering, Suggestions
from analysis.finder.spots import Numbers, Real
from analysis.finder.strategies import Strategy, recognise_strategy
from analysis.keywork import (
    Change,
    Effect,
    KeyStates,
    assess_ease,
    describe_changes,
    find_changes,
    format_fingering,
)
from analysis.pitch import WrittenPitch

# Worth of a candidate, by itself 1: judgement of what a player would rather try.
_PER_FURTHER_CHANGE = 0.80
_HALF_HOLE = 0.25
_EASE_POWER = 0.4
_PER_OTHER_COLOUR = 0.85
# Of the best chance that such an uncertain prediction could have, this share is within reach.
_REACH_SHARE = 0.25
# From so many suggestions on, the simplest is one of them.
_FEWEST_WITH_SIMPLEST = 3
# So many of the best are looked at closely: ease and joint choice.
_SHORTLIST = 40


@dataclass(frozen=True)
class _Shortlist:
    """The most promising candidates with what is known of each."""

    candidates: Candidates
    fingerings: tuple[KeyStates, ...]
    offsets: Real
    sigmas: Real
    speaks: Real
    chances: Real
    eases: Real
    weights: Real
    shared: Real


def suggest(
    target: WrittenPitch,
    *,
    model: PlayerModel,
    starts: Sequence[Start],
    wishes: Wishes = NO_WISHES,
    count: int = 5,
) -> Suggestions:
    """Suggest fingerings worth trying for a target.

    All that lies within a few keys of the starting points is predicted; candidates are ranked
    by their chance of landing within the tolerance, less for each further changed key, for
    awkward hands and, last, for half-holes. They are chosen together, so that they differ, and
    one of three or more is the single changed key that is expected to miss least: the second
    where it is nearly as good a bet as the first.

    Args:
        target: written pitch in the notation of the model's kind.
        model: the player's model.
        starts: fingerings that work, besides the ordinary ones, which always count.
        wishes: what to respect.
        count: how many at most.

    Returns:
        At most `count` suggestions, all within reach; or the one least bad, marked so, and a
        verdict in words. What was measured already is never suggested again. The same answer for
        the same question.

    Raises:
        UnknownKey: a wish names a key that the layout lacks.

    >>> from analysis.keywork import load_layout
    >>> model = PlayerModel.fit("b-flat-soprano", load_layout("soprano-17-6"), [])
    >>> found = suggest(WrittenPitch.from_canonical("G5-50c"), model=model, starts=()).items
    >>> [one.strategy.value for one in found if one.changes_words == "adds right cross key (opens)"]
    ['raised']
    """
    chosen_starts = choose_starts(model.tube, starts, target)
    candidates = find_candidates(model.tube, target, chosen_starts, wishes, model.guess)
    shortlist = _shortlist(model, target, _leave_known(model, candidates, wishes), wishes)
    if not len(shortlist.chances):
        return Suggestions((), sum_up((), target, wishes, _find_proven(model, target, wishes)))
    items = _choose(shortlist, target, wishes, count)
    return Suggestions(items, sum_up(items, target, wishes, _find_proven(model, target, wishes)))


def _leave_known(model: PlayerModel, candidates: Candidates, wishes: Wishes) -> Candidates:
    """Leave out what was measured or found not to speak, and what was dismissed."""
    tried = set(model.tried)
    linkage = model.tube.linkage
    kept = np.array(
        [
            name not in tried
            and not (
                wishes.dismissed and format_fingering(linkage.decode(int(keys))) in wishes.dismissed
            )
            for name, keys in zip(candidates.spots.names, candidates.keys, strict=True)
        ],
        dtype=bool,
    )
    return select_candidates(candidates, np.flatnonzero(kept))


def select_candidates(candidates: Candidates, places: Numbers) -> Candidates:
    """Select some of the candidates; `places` of shape (any,)."""
    return Candidates(
        candidates.starts,
        candidates.keys[places],
        candidates.spots.select(places),
        candidates.start_places[places],
        candidates.change_counts[places],
    )


def _shortlist(
    model: PlayerModel, target: WrittenPitch, candidates: Candidates, wishes: Wishes
) -> _Shortlist:
    estimate = model.estimate(candidates.spots)
    offsets = estimate.mean - model.find_treble_cents(target)
    sigmas = np.sqrt(estimate.variance)
    speaks = model.find_speaking(candidates.spots)
    chances = speaks * find_chances(offsets, sigmas, wishes.tolerance_cents)
    weights = _weigh(model, candidates, wishes)
    # Ties, and where nothing comes near, fall to the nearest.
    rough = chances * weights + 1e-6 / (1.0 + np.abs(offsets))
    best = np.argsort(-rough, kind="stable")[:_SHORTLIST]
    kept = select_candidates(candidates, best)
    fingerings = tuple(model.tube.linkage.decode(int(keys)) for keys in kept.keys)
    eases = np.array(list(map(_find_ease, fingerings)))
    return _Shortlist(
        candidates=kept,
        fingerings=fingerings,
        offsets=offsets[best],
        sigmas=sigmas[best],
        speaks=speaks[best],
        chances=chances[best],
        eases=eases,
        weights=weights[best] * eases**_EASE_POWER,
        shared=model.find_shared(kept.spots),
    )


@lru_cache(maxsize=20_000)
def _find_ease(fingering: KeyStates) -> float:
    return assess_ease(fingering).figure


def _weigh(model: PlayerModel, candidates: Candidates, wishes: Wishes) -> Real:
    weights = _PER_FURTHER_CHANGE ** (candidates.change_counts - 1.0)
    has_half_hole = model.tube.linkage.has_half_hole(candidates.keys)
    weights = np.where(has_half_hole, _HALF_HOLE * weights, weights)
    if wishes.prefers_colour_of is not None:
        keys = np.array([model.tube.linkage.encode(wishes.prefers_colour_of)], dtype=np.uint64)
        like = model.tube.linkage.find_holes(keys)
        weights = weights * _PER_OTHER_COLOUR ** np.bitwise_count(candidates.spots.holes ^ like)
    return np.asarray(weights)


def _choose(
    shortlist: _Shortlist, target: WrittenPitch, wishes: Wishes, count: int
) -> tuple[RankedFingering, ...]:
    within = _find_within_reach(shortlist, wishes)
    places = np.flatnonzero(within)
    if not len(places):
        place = int(np.argmin(np.abs(shortlist.offsets) + 1e3 * (shortlist.weights < _HALF_HOLE)))
        return (_describe(shortlist, place, target, wishes, rank=1, is_within_reach=False),)
    hits = draw_hits(
        shortlist.offsets[places],
        shortlist.sigmas[places],
        shortlist.shared[places],
        tolerance_cents=wishes.tolerance_cents,
        speaks=shortlist.speaks[places],
    )
    weights = shortlist.weights[places]
    chosen = choose_together(hits, shortlist.chances[places] * weights, weights, count)
    order = [int(places[place]) for place in chosen.places]
    simplest = _find_simplest(places, shortlist)
    if simplest is not None and len(order) >= _FEWEST_WITH_SIMPLEST:
        place_early(order, simplest, shortlist.chances * shortlist.weights)
    order.sort(key=lambda place: shortlist.fingerings[place].has_half_hole)
    return tuple(
        _describe(shortlist, place, target, wishes, rank=rank, is_within_reach=True)
        for rank, place in enumerate(order, start=1)
    )


def _find_simplest(places: Numbers, shortlist: _Shortlist) -> int | None:
    """Find the single changed key with the smallest expected miss.

    It is what a player tries before anything else, even where two keys promise a little more.
    """
    single = places[shortlist.candidates.change_counts[places] == 1]
    if not len(single):
        return None
    miss = np.hypot(shortlist.offsets[single], shortlist.sigmas[single])
    return int(single[np.argmin(miss / shortlist.weights[single])])


def _find_within_reach(
    shortlist: _Shortlist, wishes: Wishes
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    centred = find_chances(
        np.zeros_like(shortlist.sigmas), shortlist.sigmas, wishes.tolerance_cents
    )
    return np.asarray(shortlist.chances >= _REACH_SHARE * centred)


def _describe(
    shortlist: _Shortlist,
    place: int,
    target: WrittenPitch,
    wishes: Wishes,
    *,
    rank: int,
    is_within_reach: bool,
) -> RankedFingering:
    fingering = shortlist.fingerings[place]
    base = shortlist.candidates.starts[int(shortlist.candidates.start_places[place])]
    changes = find_changes(base.fingering, fingering)
    suggestion = RankedFingering(
        rank=rank,
        fingering=fingering,
        base=base,
        strategy=name_strategy(base, target, changes),
        changes=changes,
        changes_words=describe_changes(changes),
        offset_cents=float(shortlist.offsets[place]),
        sigma_cents=float(shortlist.sigmas[place]),
        chance=float(shortlist.chances[place]),
        ease=float(shortlist.eases[place]),
        has_half_hole=fingering.has_half_hole,
        reason="",
        is_within_reach=is_within_reach,
    )
    return explain_rank(suggestion, wishes, speaks_chance=float(shortlist.speaks[place]))


def name_strategy(base: Start, target: WrittenPitch, changes: Sequence[Change]) -> Strategy:
    """Name the strategy that leads from a base to a target by some changes.

    Where some changes open and others close it is a combination; else the distance decides. A
    base that was logged for the target itself is corrected: raised if it was flat.
    """
    effects = {change.effect for change in changes}
    if Effect.OPENS in effects and effects & {Effect.CLOSES}:
        return Strategy.COMBINATION
    strategy = recognise_strategy(base.written, target)
    if strategy is not None:
        return strategy
    if base.written.cents == target.cents and base.offset_cents:
        return Strategy.RAISED if base.offset_cents < 0 else Strategy.LOWERED
    return Strategy.FOUND


def _find_proven(model: PlayerModel, target: WrittenPitch, wishes: Wishes) -> tuple[str, ...]:
    """Name the measured fingerings that are in tune for the target already."""
    found = [
        format_fingering(log.fingering)
        for log in model.logs
        if log.offset_cents is not None
        and abs(float(log.written.cents - target.cents) + log.offset_cents)
        <= wishes.tolerance_cents
    ]
    return tuple(dict.fromkeys(found))
