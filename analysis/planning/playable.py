"""Fingerings that can be played for a note, each with its evidence and chance to be in tune."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.finder.candidates import list_ordinary_starts
from analysis.finder.maximum_coverage import find_chances
from analysis.finder.player_model import PlayerModel
from analysis.finder.spots import Bits
from analysis.keywork import KeyStates
from analysis.pitch import WrittenPitch
from analysis.planning.passage_costs import Backing


@dataclass(frozen=True, slots=True)
class Playable:
    """A fingering for a note.

    `offset_cents` is where it sounds from the note, measured or expected, with its standard
    uncertainty; `chance` is that of speaking and being in tune, 0 to 1. `logged_id` is the caller's
    own number of a logged fingering.
    """

    fingering: KeyStates
    offset_cents: float
    sigma_cents: float
    chance: float
    backing: Backing
    logged_id: int | None = None


def judge_measured(
    fingering: KeyStates,
    offset_cents: float,
    sigma_cents: float,
    *,
    tolerance_cents: float,
    logged_id: int | None = None,
) -> Playable:
    """Say how likely a measured fingering is in tune the next time.

    `sigma_cents` is the standard uncertainty of the offset, above 0.
    """
    chance = find_chances(np.array([offset_cents]), np.array([sigma_cents]), tolerance_cents)
    return Playable(
        fingering, offset_cents, sigma_cents, float(chance[0]), Backing.MEASURED, logged_id
    )


def predict_playable(
    model: PlayerModel,
    written: WrittenPitch,
    keys: Bits,
    *,
    tolerance_cents: float,
    backing: Backing = Backing.PREDICTED,
    logged_id: int | None = None,
) -> tuple[Playable, ...]:
    """Predict how key sets serve a note, each by its resonance nearest to it.

    Args:
        model: the player's model.
        written: the note, in the notation of the model's kind.
        keys: key sets, shape (n,).
        tolerance_cents: an offset up to this counts as in tune.
        backing: what stands behind them.
        logged_id: the caller's number of a single logged fingering.

    Returns:
        One for each that has a resonance, in the order given.
    """
    wanted = model.find_treble_cents(written)
    tube = model.tube
    spots = tube.find_nearest(tube.linkage.find_holes(keys), np.full(len(keys), wanted))
    there = np.flatnonzero(np.isfinite(spots.cents))
    if not len(there):
        return ()
    estimate = model.estimate(spots.select(there))
    offsets, sigmas = estimate.mean - wanted, np.sqrt(estimate.variance)
    speaks = model.find_speaking(spots.select(there))
    chances = speaks * find_chances(offsets, sigmas, tolerance_cents)
    return tuple(
        Playable(
            tube.linkage.decode(int(keys[place])),
            float(offset),
            float(sigma),
            float(chance),
            backing,
            logged_id,
        )
        for place, offset, sigma, chance in zip(there, offsets, sigmas, chances, strict=True)
    )


def list_ordinary(
    model: PlayerModel, written: WrittenPitch, *, tolerance_cents: float
) -> tuple[Playable, ...]:
    """List the ordinary fingerings of a note, every choice; none for a note between the semitones.

    >>> from analysis.keywork import load_layout
    >>> soprano = load_layout("soprano-17-6")
    >>> model = PlayerModel.fit("b-flat-soprano", soprano, [], is_screened=False)
    >>> len(list_ordinary(model, WrittenPitch.from_canonical("F#5"), tolerance_cents=10.0))
    2
    """
    listed = list_ordinary_starts(model.tube.kind_id, model.tube.layout)
    here = [each.fingering for each in listed if each.written.cents == written.cents]
    keys = np.array([model.tube.linkage.encode(each) for each in here], dtype=np.uint64)
    return predict_playable(
        model, written, keys, tolerance_cents=tolerance_cents, backing=Backing.ORDINARY
    )


def join_playable(*lists: Iterable[Playable]) -> tuple[Playable, ...]:
    """Join lists; of the same fingering the first counts."""
    kept: dict[KeyStates, Playable] = {}
    for each in (one for some in lists for one in some):
        kept.setdefault(each.fingering, each)
    return tuple(kept.values())


def find_likeliest(playable: Sequence[Playable]) -> float:
    """Find the best chance of some, 0 where there are none."""
    return max((each.chance for each in playable), default=0.0)
