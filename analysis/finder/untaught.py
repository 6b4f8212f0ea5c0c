"""Untaught tube: where one fingering is expected before anything was learned from the player.

Its resonances are computed exactly, without screening a layout. How sure they are is the prior of
the player's model (`hyperparameters`), with a share of the shift from the nearest ordinary
fingering for the measures of the tube, which would take a hundred times as long. A half-hole has
an uncertainty of its own.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    Geometry,
    Linkage,
    TubeModel,
    UnknownGeometry,
    encode_holes,
    encode_states,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.finder.errors import FinderUnavailable
from analysis.finder.hyperparameters import PRIOR
from analysis.finder.kernel import HIGH_OWN_CENTS, PLAYER_SIZE, SHADED_CENTS
from analysis.finder.ordinary_spots import Anchors, find_anchors, find_ordinary
from analysis.finder.spots import ALTISSIMO_NUMBER, Spots
from analysis.finder.tube import CENTS_LIKE_A_HOLE
from analysis.keywork import KeyStates, Layout
from analysis.pitch import KINDS, WrittenPitch

_KEYWORKS_KEPT = 8
# What the measures of the tube leave unknown, as a share of the shift. Judgement.
_MEASURES_SHARE = 0.06


class UntaughtPitch(NamedTuple):
    """Where a fingering is expected: cents from the note that was asked for, and its sigma."""

    offset_cents: float
    sigma_cents: float


class _Known(NamedTuple):
    """The ordinary spots of a keywork and the anchor errors of its altissimo."""

    spots: Spots
    anchors: Anchors


def predict_untaught(
    kind_id: str, fingering: KeyStates, written: WrittenPitch
) -> UntaughtPitch | None:
    """Predict where a fingering sounds from the tube alone, by the resonance nearest to a note.

    Args:
        kind_id: an id of `analysis.pitch.KINDS`.
        fingering: its keys.
        written: the note that it is meant for, in the notation of the kind.

    Returns:
        The prediction; None where the tube has no resonance at all.

    Raises:
        FinderUnavailable: nothing is known of this tube.

    >>> from analysis.keywork import load_layout, parse_fingering
    >>> g5 = parse_fingering("T R 123 | ---", load_layout("soprano-17-6"))
    >>> found = predict_untaught("b-flat-soprano", g5, WrittenPitch.from_canonical("G5"))
    >>> abs(found.offset_cents) < 10, found.sigma_cents < 10
    (True, True)
    """
    geometry = _load_geometry(kind_id, fingering.layout.id)
    wanted = float(written.cents) + KINDS[kind_id].treble_shift_cents
    states = encode_states(fingering)
    found = find_resonances(_air_filled(geometry), states[np.newaxis])[0]
    found = found - geometry.treble_transposition_cents
    if not np.isfinite(found).any():
        return None
    place = int(np.nanargmin(np.abs(found - wanted)))
    spots = Spots(encode_holes(states[np.newaxis]), np.array([place + 1]), found[place : place + 1])
    ordinary = _find_ordinary(geometry, fingering.layout)
    shift = _find_shift(ordinary.spots, spots)
    is_high = place + 1 >= ALTISSIMO_NUMBER
    cents = float((spots.cents - ordinary.anchors.find_errors(spots))[0])
    variance = (
        (PLAYER_SIZE * PRIOR.player) ** 2
        + (_MEASURES_SHARE * shift) ** 2
        + float(np.sum(ordinary.anchors.find_rows(spots) ** 2))
        + PRIOR.own**2
        + (PRIOR.per_shift * shift / 100.0) ** 2
        + (SHADED_CENTS**2 if fingering.has_half_hole else 0.0)
        + (HIGH_OWN_CENTS**2 if is_high else 0.0)
    )
    return UntaughtPitch(cents - wanted, math.sqrt(variance))


def _load_geometry(kind_id: str, layout_id: str) -> Geometry:
    try:
        return load_geometry(kind_id, layout_id)
    except UnknownGeometry as error:
        raise FinderUnavailable(str(error)) from error


def _air_filled(geometry: Geometry) -> TubeModel:
    return TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))


@lru_cache(maxsize=_KEYWORKS_KEPT)
def _find_ordinary(geometry: Geometry, layout: Layout) -> _Known:
    ordinary = find_ordinary(layout, Linkage(layout), _air_filled(geometry))
    return _Known(ordinary.spots, find_anchors(ordinary))


def _find_shift(ordinary: Spots, spots: Spots) -> float:
    """Find how far the tube puts one spot from the nearest ordinary one on its resonance."""
    differing = np.bitwise_count(ordinary.holes ^ spots.holes)
    apart = np.abs(ordinary.cents - spots.cents)
    cost = differing + apart / CENTS_LIKE_A_HOLE
    cost = np.where(ordinary.numbers == spots.numbers, cost, np.inf)
    return float(apart[np.argmin(cost)])
