"""Principal components of the calibration: the main ways in which a tube may be off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics import (
    Geometry,
    Screening,
    TubeModel,
    decode_holes,
    find_air,
    find_sensitivities,
    list_parameters,
)
from analysis.acoustics.calibration import find_covariance

Real = NDArray[np.float64]

_SAMPLE = 200
# Of the altissimo only the usual resonance: it is known worst and must not crowd out the rest.
_NUMBERS = 3
_KEPT_SHARE = 0.995
_BOUND_CENTS = 60.0


def find_covariance_root(geometry: Geometry, screening: Screening, temperature_c: float) -> Real:
    """Find the principal components of a tube's errors, one standard deviation of each.

    The posterior covariance of the calibration has one for each measure; most of them move no
    pitch. Those that make up nearly all of the variance of a sample of fingerings are kept, by a
    singular value decomposition.

    Returns:
        Shape (parameters, ways).
    """
    parameters = list_parameters(geometry)
    root = np.linalg.cholesky(find_covariance(geometry, parameters))
    chosen = np.linspace(0, len(screening.hole_sets.holes) - 1, _SAMPLE).astype(np.int64)
    places = np.repeat(chosen, _NUMBERS)
    numbers = np.tile(np.arange(_NUMBERS), len(chosen))
    cents = screening.written_cents[places, numbers].astype(np.float64)
    known = np.isfinite(cents)
    slopes = find_sensitivities(
        TubeModel(geometry, find_air(temperature_c)),
        decode_holes(screening.hole_sets.holes[places[known]], len(geometry.holes)),
        cents[known] + geometry.treble_transposition_cents,
        parameters,
    )
    rows = bound_rows(slopes @ root)
    _, sizes, ways = np.linalg.svd(rows, full_matrices=False)
    share = np.cumsum(sizes**2) / np.sum(sizes**2)
    count = int(np.searchsorted(share, _KEPT_SHARE)) + 1
    return np.asarray(root @ ways[:count].T, dtype=np.float64)


def bound_rows(rows: Real) -> Real:
    """Keep what the measures may do to each spot below a bound; small rows hardly change.

    `rows` of shape (n, ways), cents; returns the same. Sensitivities are derivatives, which say
    little about large changes: where they promise more than `_BOUND_CENTS`, no more is believed.
    """
    size = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.asarray(rows / np.hypot(1.0, size / _BOUND_CENTS))
