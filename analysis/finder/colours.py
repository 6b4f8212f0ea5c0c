"""Timbral alternatives: other fingerings for the same pitch, the most different colour first.

How different the colour should be is the distance between the impedances at the harmonics of the
note (`analysis.acoustics.spectrum_envelope`): predicted, and no word on brighter or duller. What
the ear finds different is measured from takes only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.acoustics import decode_holes
from analysis.acoustics.spectrum_envelope import find_envelope, find_envelope_distance
from analysis.finder.candidates import Candidates, choose_starts, find_candidates
from analysis.finder.inputs import NO_WISHES, Start, Wishes
from analysis.finder.likeness import group_alike
from analysis.finder.lip import find_lipped_chances
from analysis.finder.maximum_coverage import find_chances
from analysis.finder.player_model import PlayerModel
from analysis.finder.spots import Real
from analysis.keywork import (
    AWKWARD_FIGURE,
    KeyStates,
    assess_ease,
    describe_changes,
    find_changes,
    format_fingering,
)
from analysis.pitch import WrittenPitch

# Less is the same colour: judgement.
_LEAST_DB = 1.0
# A chance below this is no alternative to rely on for a colour.
_LEAST_CHANCE = 0.3
_LOOKED_AT = 120


@dataclass(frozen=True, slots=True)
class ColourAlternative:
    """A fingering of another colour for the same note.

    `colour_db` is how different it should be; `chance` that of speaking and being in tune without
    the lip's help, `lip_chance` with it or without, 0 to 1.
    """

    fingering: KeyStates
    base: Start
    changes_words: str
    offset_cents: float
    sigma_cents: float
    chance: float
    lip_chance: float
    ease: float
    colour_db: float


def find_colour_distances(
    model: PlayerModel,
    target: WrittenPitch,
    reference: KeyStates,
    fingerings: Sequence[KeyStates],
) -> Real:
    """Find how different the colours of fingerings should be from that of a reference.

    All play `target`, a written pitch in the notation of the model's kind. Returns dB, shape (n,);
    0 for the reference itself and what leaves the same holes open.
    """
    linkage = model.tube.linkage
    keys = np.array([linkage.encode(one) for one in (reference, *fingerings)], dtype=np.uint64)
    states = decode_holes(linkage.find_holes(keys), len(model.tube.layout.holes))
    cents = model.find_treble_cents(target) + model.tube.geometry.treble_transposition_cents
    levels = find_envelope(model.tube.model, states, np.full(len(keys), cents))
    return find_envelope_distance(levels[1:], levels[0])


def find_colours(
    target: WrittenPitch,
    *,
    model: PlayerModel,
    reference: KeyStates,
    starts: Sequence[Start] = (),
    wishes: Wishes = NO_WISHES,
    count: int = 10,
) -> tuple[ColourAlternative, ...]:
    """Find fingerings predicted for the same pitch that should sound in another colour.

    Args:
        target: written pitch in the notation of the model's kind.
        model: the player's model.
        reference: how the note is played usually.
        starts: fingerings that work, besides the ordinary ones.
        wishes: what to respect; the pitch is the same within its tolerance.
        count: how many at most.

    Returns:
        What is expected within the tolerance and lies well in the hands, the most different first;
        of fingerings that sound alike the one with the fewest changes. What was tried already is
        left out.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> soprano = load_layout("soprano-17-6")
    >>> model = PlayerModel.fit("b-flat-soprano", soprano, [])
    >>> g5 = parse_fingering("T R 123 | ---", soprano)
    >>> found = find_colours(WrittenPitch.from_canonical("G5"), model=model, reference=g5)
    >>> all(abs(one.offset_cents) <= 10.0 for one in found)
    True
    """
    found = _find_in_tune(target, model, starts, wishes)
    fingerings = [one.fingering for one in found]
    distances = find_colour_distances(model, target, reference, fingerings)
    other = [
        replace(one, colour_db=float(distance))
        for one, distance in zip(found, distances, strict=True)
        if distance >= _LEAST_DB
    ]
    other.sort(key=lambda one: -one.colour_db)
    return tuple(other[:count])


def _find_in_tune(
    target: WrittenPitch, model: PlayerModel, starts: Sequence[Start], wishes: Wishes
) -> list[ColourAlternative]:
    """Find what is expected in tune and lies well, each sound once; colours are not known yet."""
    candidates = find_candidates(
        model.tube, target, choose_starts(model.tube, starts, target), wishes, model.guess
    )
    if not len(candidates.spots):
        return []
    estimate = model.estimate(candidates.spots)
    offsets = estimate.mean - model.find_treble_cents(target)
    sigmas = np.sqrt(estimate.variance)
    speaks = model.find_speaking(candidates.spots)
    chances = speaks * find_chances(offsets, sigmas, wishes.tolerance_cents)
    is_tried = np.isin(candidates.spots.codes, np.array(model.tried, dtype=np.uint64))
    is_in_tune = np.abs(offsets) <= wishes.tolerance_cents
    places = np.flatnonzero(is_in_tune & (chances >= _LEAST_CHANCE) & ~is_tried)
    places = places[np.argsort(candidates.change_counts[places], kind="stable")][:_LOOKED_AT]
    spots = candidates.spots.select(places)
    groups = group_alike(spots, model.tube.find_rows(spots))
    firsts = np.array([places[group[0]] for group in groups], dtype=np.int64)
    lipped = speaks[firsts] * find_lipped_chances(
        model.tube, candidates.spots.select(firsts), offsets[firsts], sigmas[firsts], wishes
    )
    figures = zip(offsets[firsts], sigmas[firsts], chances[firsts], lipped, strict=True)
    found = [
        _describe(model, candidates, place, some)
        for place, some in zip(firsts, figures, strict=True)
    ]
    return [
        one
        for one in found
        if one.ease >= AWKWARD_FIGURE and format_fingering(one.fingering) not in wishes.dismissed
    ]


def _describe(
    model: PlayerModel, candidates: Candidates, place: int, figures: tuple[float, ...]
) -> ColourAlternative:
    fingering = model.tube.linkage.decode(int(candidates.keys[place]))
    base = candidates.starts[int(candidates.start_places[place])]
    offset, sigma, chance, lip_chance = map(float, figures)
    return ColourAlternative(
        fingering=fingering,
        base=base,
        changes_words=describe_changes(find_changes(base.fingering, fingering)),
        offset_cents=offset,
        sigma_cents=sigma,
        chance=chance,
        lip_chance=lip_chance,
        ease=assess_ease(fingering).figure,
        colour_db=0.0,
    )
