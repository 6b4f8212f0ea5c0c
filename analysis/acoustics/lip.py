"""Lip: how far a fingering follows the reed, from the reed term of the tube.

A looser lip lets the reed give way more, as if it were longer; that lowers a note. How far depends
on the note: much where the admittance of the tube is flat around its zero, as high up and where
much is open, little where it is steep. Source of the reed term: `TubeModel.find_reed_admittance`.
"""

from __future__ import annotations

import numpy as np

from analysis.acoustics.resonances import find_omega
from analysis.acoustics.transfer_matrices import Real
from analysis.acoustics.tube_model import States, TubeModel

_CENTS_STEP = 0.05


def find_lip_slopes(model: TubeModel, states: States, cents: Real) -> Real:
    """Find how far notes fall for each mm by which the reed acts longer.

    Args:
        model: the tube in its air.
        states: shape (n, holes), codes of `HOLE_STATES`.
        cents: shape (n,), exact resonances in sounding cents, one for each row of `states`.

    Returns:
        Shape (n,), cents for each mm, above 0 for a fall.
    """
    up = model.find_input_admittance(states, find_omega(cents + _CENTS_STEP))
    down = model.find_input_admittance(states, find_omega(cents - _CENTS_STEP))
    slope = np.imag(up - down) / (2.0 * _CENTS_STEP)
    return np.asarray(np.imag(model.find_lip_admittance(find_omega(cents))) / slope)
