"""Untaught tube: where one fingering is expected before anything was learned from the player.

Its resonances are computed exactly, without screening a layout. How sure they are is the prior of
the player's model (`hyperparameters`) but for the measures of the tube, which would take a hundred
times as long and add little: it grows with the shift from the nearest ordinary fingering, and a
half-hole has an uncertainty of its own.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    Geometry,
    TubeModel,
    UnknownGeometry,
    encode_states,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.acoustics.calibration_notes import list_notes, stack_states
from analysis.finder.errors import FinderUnavailable
from analysis.finder.hyperparameters import PRIOR
from analysis.finder.kernel import PLAYER_SIZE, SHADED_CENTS
from analysis.finder.tube import CENTS_LIKE_A_HOLE, Numbers, Real
from analysis.keywork import KeyStates, Layout
from analysis.pitch import KINDS, WrittenPitch

_KEYWORKS_KEPT = 8


class UntaughtPitch(NamedTuple):
    """Where a fingering is expected: cents from the note that was asked for, and its sigma."""

    offset_cents: float
    sigma_cents: float


class _Ordinary(NamedTuple):
    """The ordinary fingerings of a keywork: hole states (n, holes), resonances, written cents."""

    states: Numbers
    numbers: Numbers
    cents: Real


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
    cents = float(found[place])
    shift = _find_shift(_find_ordinary(geometry, fingering.layout), states, place + 1, cents)
    variance = (
        (PLAYER_SIZE * PRIOR.player) ** 2
        + (PRIOR.share * shift) ** 2
        + PRIOR.own**2
        + (PRIOR.per_shift * shift / 100.0) ** 2
        + (SHADED_CENTS**2 if fingering.has_half_hole else 0.0)
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
def _find_ordinary(geometry: Geometry, layout: Layout) -> _Ordinary:
    notes = list_notes(layout)
    states = stack_states(notes)
    numbers = np.array([note.number for note in notes])
    found = find_resonances(_air_filled(geometry), states)[np.arange(len(notes)), numbers - 1]
    known = np.isfinite(found)
    cents = found[known] - geometry.treble_transposition_cents
    return _Ordinary(states[known].astype(np.int64), numbers[known], cents)


def _find_shift(
    ordinary: _Ordinary,
    states: np.ndarray[tuple[int], np.dtype[np.int8]],
    number: int,
    cents: float,
) -> float:
    """Find how far the tube puts a fingering from the nearest ordinary one on its resonance."""
    differing = np.count_nonzero(ordinary.states != states, axis=1)
    apart = np.abs(ordinary.cents - cents)
    cost = np.where(ordinary.numbers == number, differing + apart / CENTS_LIKE_A_HOLE, np.inf)
    return float(apart[np.argmin(cost)])
