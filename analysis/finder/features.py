"""The kernel of the finder's Gaussian process, as features.

What the tube may get wrong about a spot is a sum of terms, each with a standard deviation from
memory of the size of such errors (judgement, not measured):

- one constant for the whole instrument (pulled barrel, warm-up, tuning A);
- one constant for each register;
- for each register a smooth curve over pitch, squared exponential over 400 cents;
- the measures of the tube: sensitivities times the posterior covariance of the calibration;
- for each register a share of the shift from the base: the tube exaggerates, or plays down;
- for each fingering something of its own (in `learning`).

All but the last are linear in some features with independent unit weights, so a covariance is a
product of features (Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, sections
2.1 and 4.2). The curve, which is not, is projected on points `_KNOT_CENTS` apart (section 8.3.2):
at half the length of the curve that loses next to nothing.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from analysis.finder.tube import Real, Spots, Tube
from analysis.finder.ways import bound_rows
from analysis.pitch import Register, register_bounds

CONSTANT_CENTS = 5.0
REGISTER_CENTS = 3.0
CURVE_CENTS = 4.0
CURVE_LENGTH_CENTS = 400.0
SHIFT_SHARE = 0.10
_KNOT_CENTS = 200.0
# Written C3 to C7: lower and higher nothing is played.
_LOWEST_CENTS, _HIGHEST_CENTS = 4800.0, 9600.0


def find_features(tube: Tube, spots: Spots) -> Real:
    """Find the features of spots, shape (n, features); their product is the prior covariance."""
    _, shifts = tube.find_bases(spots)
    registers = spots.registers
    columns = [np.full((len(spots), 1), CONSTANT_CENTS)]
    for place, register in enumerate(Register):
        inside = (registers == place)[:, np.newaxis]
        own = np.column_stack(
            [
                np.full(len(spots), REGISTER_CENTS),
                SHIFT_SHARE * shifts,
                CURVE_CENTS * _bend(register, spots.cents),
            ]
        )
        columns.append(np.where(inside, own, 0.0))
    columns.append(bound_rows(tube.find_rows(spots)))
    return np.hstack(columns)


def _bend(register: Register, cents: Real) -> Real:
    """Find features of the curve: products of them are its correlations."""
    knots, whitening = _find_knots(register)
    return np.asarray(_correlate(cents, knots) @ whitening)


@cache
def _find_knots(register: Register) -> tuple[Real, Real]:
    low, high = register_bounds(register)
    first = max(float(low), _LOWEST_CENTS) - _KNOT_CENTS
    last = min(float(high), _HIGHEST_CENTS) + _KNOT_CENTS
    knots = np.arange(first, last + _KNOT_CENTS, _KNOT_CENTS)
    values, vectors = np.linalg.eigh(_correlate(knots, knots))
    kept = values > 1e-6
    return knots, np.asarray(vectors[:, kept] / np.sqrt(values[kept]))


def _correlate(first: Real, second: Real) -> Real:
    apart = (first[:, np.newaxis] - second) / CURVE_LENGTH_CENTS
    return np.asarray(np.exp(-0.5 * apart**2))
