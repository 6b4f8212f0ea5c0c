"""Ranking of fingerings to try next for a target: the few most promising, each with its reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis.finder.candidates import Candidates, choose_starts, find_candidates
from analysis.finder.explanations import WhyNone, explain_rank, sum_up
from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.likeness import find_like_pairs, group_alike
from analysis.finder.lip import find_lipped_chances, weigh_chances
from analysis.finder.maximum_coverage import (
    choose_together,
    draw_hits,
    find_chances,
    place_early,
)
from analysis.finder.player_model import PlayerModel
from analysis.finder.results import (
    WORTH_LIPPING,
    WORTH_TRYING,
    RankedFingering,
    Suggestions,
)
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
from analysis.pitch import Sentence, WrittenPitch

MotionCosts = Callable[[Sequence[KeyStates]], Real]
"""Costs of moving to and from some fingerings, shape (n,), at least 0; a plain finger is 1."""

# Worth of a candidate, by itself 1: judgement of what a player would rather try.
_PER_FURTHER_CHANGE = 0.80
_HALF_HOLE = 0.25
_EASE_POWER = 0.4
_PER_OTHER_COLOUR = 0.85
# For each plain finger more that has to move from the note before and to the note after.
_PER_MOTION = 0.92
# What is out of reach is named up to here; a fingering that sounds as its base does is that.
_CLOSEST_CENTS = 50.0
_INERT_CENTS = 5.0
# From so many suggestions on, the simplest is one of them.
_FEWEST_WITH_SIMPLEST = 3
# So many of the best are looked at for their like, and so many then closely: ease, joint choice.
_LONGLIST = 150
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
    lip_chances: Real
    eases: Real
    motions: Real | None
    weights: Real
    shared: Real
    variants: tuple[tuple[KeyStates, ...], ...]

    @property
    def worth(self) -> Real:
        """Worth of each by itself: its chance, and some of what the lip adds."""
        return np.asarray(weigh_chances(self.chances, self.lip_chances) * self.weights)


def suggest(
    target: WrittenPitch,
    *,
    model: PlayerModel,
    starts: Sequence[Start],
    wishes: Wishes = NO_WISHES,
    count: int = 5,
    find_motion: MotionCosts | None = None,
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
        find_motion: what some fingerings cost to be reached from the note before and to be left
            for the note after; those that cost less gain.

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
    fresh = _leave_known(model, candidates, wishes)
    shortlist = _shortlist(model, target, fresh, wishes, find_motion)
    items = _choose(shortlist, target, wishes, count)
    proven = _find_proven(model, target, wishes)
    why_none = None if items else _find_why_none(model, target, candidates, len(fresh.spots))
    return Suggestions(
        items, sum_up(items, target, wishes, proven, layout=model.tube.layout, why_none=why_none)
    )


def _find_why_none(
    model: PlayerModel, target: WrittenPitch, candidates: Candidates, fresh_count: int
) -> WhyNone:
    """Find why there is nothing to suggest."""
    wanted = model.find_treble_cents(target)
    if wanted < float(model.tube.layout.lowest.cents):
        return WhyNone.BELOW
    if not candidates.starts:
        return WhyNone.NO_START
    if len(candidates.spots) == fresh_count:
        return WhyNone.NOTHING_NEAR
    offsets = model.estimate(candidates.spots).mean - wanted
    is_near = bool(np.any(np.abs(offsets) <= _CLOSEST_CENTS))
    return WhyNone.ALL_KNOWN if is_near else WhyNone.NOTHING_NEAR


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
    kept[_find_like_known(model, candidates)] = False
    return select_candidates(candidates, np.flatnonzero(kept))


def _find_like_known(model: PlayerModel, candidates: Candidates) -> Numbers:
    """Find candidates that sound like what was tried already: places, shape (any,)."""
    known = model.tried_spots
    if not len(known) or not len(candidates.spots):
        return np.zeros(0, dtype=np.int64)
    rows = model.tube.find_rows(candidates.spots), model.tube.find_rows(known)
    return find_like_pairs(candidates.spots, rows[0], known, rows[1])[0]


def select_candidates(candidates: Candidates, places: Numbers) -> Candidates:
    """Select some of the candidates; `places` of shape (any,)."""
    return Candidates(
        candidates.starts,
        candidates.keys[places],
        candidates.spots.select(places),
        candidates.start_places[places],
        candidates.change_counts[places],
        candidates.base_cents[places],
    )


def _shortlist(
    model: PlayerModel,
    target: WrittenPitch,
    candidates: Candidates,
    wishes: Wishes,
    find_motion: MotionCosts | None,
) -> _Shortlist:
    estimate = model.estimate(candidates.spots)
    offsets = estimate.mean - model.find_treble_cents(target)
    sigmas = np.sqrt(estimate.variance)
    speaks = model.find_speaking(candidates.spots)
    chances = speaks * find_chances(offsets, sigmas, wishes.tolerance_cents)
    weights = _weigh(model, candidates, wishes)
    # Ties, and where nothing comes near, fall to the nearest.
    rough = chances * weights + 1e-6 / (1.0 + np.abs(offsets))
    longlist = np.argsort(-rough, kind="stable")[:_LONGLIST]
    groups = _group(model, candidates, longlist)[:_SHORTLIST]
    best = np.array([group[0] for group in groups], dtype=np.int64)
    kept = select_candidates(candidates, best)
    decode = model.tube.linkage.decode
    fingerings = tuple(decode(int(keys)) for keys in kept.keys)
    eases = np.array(list(map(_find_ease, fingerings)), dtype=np.float64)
    motions = find_motion(fingerings) if find_motion and fingerings else None
    moving = 1.0 if motions is None else _PER_MOTION ** (motions - np.min(motions))
    lipped = find_lipped_chances(model.tube, kept.spots, offsets[best], sigmas[best], wishes)
    return _Shortlist(
        candidates=kept,
        fingerings=fingerings,
        offsets=offsets[best],
        sigmas=sigmas[best],
        speaks=speaks[best],
        chances=chances[best],
        lip_chances=speaks[best] * lipped,
        eases=eases,
        motions=motions,
        weights=weights[best] * eases**_EASE_POWER * moving,
        shared=model.find_shared(kept.spots),
        variants=tuple(
            tuple(decode(int(candidates.keys[place])) for place in group[1:]) for group in groups
        ),
    )


def _group(model: PlayerModel, candidates: Candidates, places: Numbers) -> list[list[int]]:
    """Group candidates that are one sound: each group's simplest first, as places."""
    simple_first = places[np.argsort(candidates.change_counts[places], kind="stable")]
    spots = candidates.spots.select(simple_first)
    groups = [
        [int(simple_first[place]) for place in group]
        for group in group_alike(spots, model.tube.find_rows(spots))
    ]
    order = {int(place): number for number, place in enumerate(places)}
    return sorted(groups, key=lambda group: min(order[place] for place in group))


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
    places = np.flatnonzero(
        (shortlist.chances >= WORTH_TRYING) | (shortlist.lip_chances >= WORTH_LIPPING)
    )
    if not len(places):
        closest = _find_closest(shortlist)
        if closest is None:
            return ()
        return (_describe(shortlist, closest, target, wishes, rank=1, is_within_reach=False),)
    hits = draw_hits(
        shortlist.offsets[places],
        shortlist.sigmas[places],
        shortlist.shared[places],
        tolerance_cents=wishes.tolerance_cents,
        speaks=shortlist.speaks[places],
    )
    weights = shortlist.weights[places]
    chosen = choose_together(hits, shortlist.worth[places], weights, count)
    order = [int(places[place]) for place in chosen.places]
    simplest = _find_simplest(places, shortlist)
    if simplest is not None and len(order) >= _FEWEST_WITH_SIMPLEST:
        place_early(order, simplest, shortlist.worth)
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


def _find_closest(shortlist: _Shortlist) -> int | None:
    """Find what to name where nothing is within reach; None where all is too far or inert."""
    spots = shortlist.candidates.spots
    shifts = np.abs(spots.cents - shortlist.candidates.base_cents)
    is_named = (shifts >= _INERT_CENTS) & (np.abs(shortlist.offsets) <= _CLOSEST_CENTS)
    places = np.flatnonzero(is_named)
    if not len(places):
        return None
    cost = np.abs(shortlist.offsets[places]) + 1e3 * (shortlist.weights[places] < _HALF_HOLE)
    return int(places[np.argmin(cost)])


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
        reason=Sentence(),
        is_within_reach=is_within_reach,
        lip_chance=float(shortlist.lip_chances[place]),
        variants=shortlist.variants[place],
        motion=None if shortlist.motions is None else float(shortlist.motions[place]),
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
