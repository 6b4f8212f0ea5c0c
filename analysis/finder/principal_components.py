"""Principal components of the calibration: the main ways in which a tube may be off."""

from __future__ import annotations

import numpy as np

from analysis.acoustics import (
    Geometry,
    Linkage,
    TubeModel,
    decode_holes,
    find_air,
    find_resonances,
    find_sensitivities,
    list_parameters,
)
from analysis.acoustics.calibration import find_covariance
from analysis.acoustics.calibration_notes import list_notes
from analysis.finder.spots import Bits, Real
from analysis.keywork import Layout

_SAMPLE = 200
_SAMPLED_CHANGES = 2
# Of the altissimo only the usual resonance: it is known worst and must not crowd out the rest.
_NUMBERS = 3
_KEPT_SHARE = 0.995
_BOUND_CENTS = 60.0


def find_covariance_root(
    geometry: Geometry, layout: Layout, linkage: Linkage, temperature_c: float
) -> Real:
    """Find the principal components of a tube's errors, one standard deviation of each.

    The posterior covariance of the calibration has one for each measure; most of them move no
    pitch. Those that make up nearly all of the variance of a sample of fingerings are kept, by a
    singular value decomposition.

    Returns:
        Shape (parameters, ways).
    """
    parameters = list_parameters(geometry)
    root = np.linalg.cholesky(find_covariance(geometry, parameters))
    model = TubeModel(geometry, find_air(temperature_c))
    states = decode_holes(_draw_sample(layout, linkage), len(geometry.holes))
    cents = find_resonances(model, states)[:, :_NUMBERS]
    known = np.isfinite(cents)
    places = np.nonzero(known)[0]
    slopes = find_sensitivities(model, states[places], cents[known], parameters)
    rows = bound_rows(slopes @ root)
    _, sizes, ways = np.linalg.svd(rows, full_matrices=False)
    share = np.cumsum(sizes**2) / np.sum(sizes**2)
    count = int(np.searchsorted(share, _KEPT_SHARE)) + 1
    return np.asarray(root @ ways[:count].T, dtype=np.float64)


def _draw_sample(layout: Layout, linkage: Linkage) -> Bits:
    """Draw hole sets evenly from all that are two keys or fewer from an ordinary fingering."""
    around = [
        linkage.find_within(linkage.encode(note.fingering), _SAMPLED_CHANGES)
        for note in list_notes(layout)
    ]
    holes = np.unique(linkage.find_holes(np.unique(np.concatenate(around))))
    return holes[np.linspace(0, len(holes) - 1, _SAMPLE).astype(np.int64)]


def bound_rows(rows: Real) -> Real:
    """Keep what the measures may do to each spot below a bound; small rows hardly change.

    `rows` of shape (n, ways), cents; returns the same. Sensitivities are derivatives, which say
    little about large changes: where they promise more than `_BOUND_CENTS`, no more is believed.
    """
    size = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.asarray(rows / np.hypot(1.0, size / _BOUND_CENTS))
