"""Sensitivities: derivatives of the resonances to the parameters of the tube.

At a resonance the imaginary part of the input admittance is zero, so a measure q moves it by
-(dY/dq) / (dY/dcents), imaginary parts (implicit differentiation). What stands below a hole and
the matrix of everything above it are computed once, so a change at one hole costs three
pieces of tube and not all of them. Derivatives are central differences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.acoustics.parameters import Measure, Parameter, change_geometry
from analysis.acoustics.resonances import find_omega
from analysis.acoustics.transfer_matrices import Complex, Matrix, Real
from analysis.acoustics.tube_model import States, TubeModel

# Steps of the central differences: small against what is measured, large against rounding.
STEPS = dict.fromkeys(Measure, 1e-3) | {Measure.PLACE: 1e-2, Measure.BELL_PLACE: 1e-2}
CENTS_STEP = 0.05


@dataclass(frozen=True)
class _Chain:
    """A tube in pieces, for many fingerings, each at its own frequency.

    For each hole from the top down: `tops` holds the admittance at its upper face (and, last, that
    of the bell), `below` the one at its lower face, `above` the matrix of everything above the
    bore that leads to it, `reach` the same with that bore.
    """

    model: TubeModel
    states: States
    omega: Real
    tops: tuple[Complex, ...]
    below: tuple[Complex, ...]
    above: tuple[Matrix, ...]
    reach: tuple[Matrix, ...]

    @classmethod
    def build(cls, model: TubeModel, states: States, omega: Real) -> _Chain:
        matrices = [model.hole_matrix(h.hole, states[:, h.index], omega) for h in model.holes]
        tops, below = [model.find_bell_admittance(omega)], []
        gaps = [*(h.above for h in model.holes[1:]), model.foot]
        for matrix, gap in zip(reversed(matrices), reversed(gaps), strict=True):
            below.append(model.climb(gap, tops[-1], omega))
            tops.append(matrix.admittance(below[-1]))
        one = np.ones(len(omega), dtype=np.complex128)
        above, reach = [Matrix(one, 0 * one, 0 * one, one)], []
        for placed, matrix in zip(model.holes, matrices, strict=True):
            made = above[-1]
            for cone in placed.above:
                made = made.times(model.cone_matrix(cone, omega))
            reach.append(made)
            above.append(made.times(matrix))
        return cls(
            model, states, omega, tuple(tops[::-1]), tuple(below[::-1]), tuple(above), tuple(reach)
        )

    def find_input(self, parameter: Parameter, change: float) -> Complex:
        """Find the input admittance with one parameter changed."""
        geometry = change_geometry(self.model.geometry, [parameter], [change])
        changed = TubeModel(geometry, self.model.air)
        if parameter.hole_id is None:
            return changed.find_input_admittance(self.states, self.omega)
        holes = self.model.geometry.holes
        place = [holes[index].id for index in self.model.order].index(parameter.hole_id)
        if parameter.measure is Measure.PLACE:
            return self._find_moved(changed, place)
        placed = changed.place_hole(place)
        matrix = changed.hole_matrix(placed.hole, self.states[:, placed.index], self.omega)
        return self.reach[place].admittance(matrix.admittance(self.below[place]))

    def _find_moved(self, changed: TubeModel, place: int) -> Complex:
        """Find the input admittance where only the hole at `place` was moved."""
        if changed.order != self.model.order:
            return changed.find_input_admittance(self.states, self.omega)
        is_last = place + 1 == len(changed.order)
        gap = changed.foot if is_last else changed.place_hole(place + 1).above
        placed = changed.place_hole(place)
        below = changed.climb(gap, self.tops[place + 1], self.omega)
        matrix = changed.hole_matrix(placed.hole, self.states[:, placed.index], self.omega)
        here = changed.climb(placed.above, matrix.admittance(below), self.omega)
        return self.above[place].admittance(here)


def find_sensitivities(
    model: TubeModel, states: States, cents: Real, parameters: tuple[Parameter, ...]
) -> Real:
    """Find the derivatives of resonances to parameters of the tube.

    Args:
        model: the tube in its air.
        states: shape (n, holes), codes of `HOLE_STATES`.
        cents: shape (n,), exact resonances in sounding cents, one for each row of `states`.
        parameters: what is changed.

    Returns:
        Shape (n, parameters): cents per mm for places, cents per unit of the logarithm (so a
        hundredth of it per percent) for all others.

    Limits: a derivative, so it says little about changes beyond some 20 cents.
    """
    chain = _Chain.build(model, states, find_omega(cents))
    slope = _find_slope(model, states, cents)
    made = np.empty((len(cents), len(parameters)))
    for column, parameter in enumerate(parameters):
        step = STEPS[parameter.measure]
        up = chain.find_input(parameter, step)
        down = chain.find_input(parameter, -step)
        made[:, column] = -np.imag(up - down) / (2.0 * step) / slope
    return made


def _find_slope(model: TubeModel, states: States, cents: Real) -> Real:
    up = model.find_input_admittance(states, find_omega(cents + CENTS_STEP))
    down = model.find_input_admittance(states, find_omega(cents - CENTS_STEP))
    return np.asarray(np.imag(up - down) / (2.0 * CENTS_STEP))
