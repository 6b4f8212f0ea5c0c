"""Sensitivities of many resonances: derivatives of pieces of tube, tabulated over frequency.

A tube is a product of pieces, each a hole with the bore above it. What a measure does to one piece
depends on the frequency and the state of its hole alone and changes slowly with frequency, so it is
tabulated for each state and read by interpolation. With pressure p and flow U at the upper end, a
change dX of a piece changes the admittance there by (dU - Y dp) / p, where (dp, dU) is dX between
everything above and everything below it (product rule). The foot is the last piece; the reed is
computed as it is. The same as `find_sensitivities`, which is quicker for a few hundred resonances.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.parameters import Measure, Parameter, change_geometry
from analysis.acoustics.resonances import find_omega, make_grid
from analysis.acoustics.sensitivities import CENTS_STEP, STEPS
from analysis.acoustics.transfer_matrices import Complex, Matrix, Real
from analysis.acoustics.tube_model import States, TubeModel

_GRID_STEP_CENTS = 50.0
# Interpolation by Lagrange's polynomial through so many frequencies.
_POINTS = 6
# So many resonances at once: bounds memory.
_BATCH = 500


class _Changed(NamedTuple):
    """A parameter, its place among all, and the tube with it a step larger and smaller."""

    column: int
    step: float
    up: TubeModel
    down: TubeModel


class SensitivityTables:
    """Derivatives of resonances to parameters, for many resonances of one tube.

    Tables are made when a state of a hole is first met: some tenths of a second in all.

    Args:
        model: the tube in its air.
        parameters: what is changed; holes may not change places by a hundredth of a millimetre.
    """

    def __init__(self, model: TubeModel, parameters: tuple[Parameter, ...]) -> None:
        self._model = model
        self._count = len(parameters)
        grid = make_grid(model.geometry)
        self._grid = np.arange(grid[0], grid[-1] + _POINTS * _GRID_STEP_CENTS, _GRID_STEP_CENTS)
        self._tables: dict[tuple[int, int], Complex] = {}
        # what changes each piece from the top down and, last, the foot; and what the reed
        self._changes: list[list[_Changed]] = [[] for _ in range(len(model.order) + 1)]
        self._reed_changes: list[_Changed] = []
        ids = [model.geometry.holes[index].id for index in model.order]
        for column, parameter in enumerate(parameters):
            changed = _change(model, parameter, column)
            if parameter.hole_id is None:
                places = range(len(self._changes))
                self._reed_changes.append(changed)
            else:
                first = ids.index(parameter.hole_id)
                places = range(first, first + 1 + (parameter.measure is Measure.PLACE))
            for place in places:
                self._changes[place].append(changed)

    def find(self, states: States, cents: Real) -> Real:
        """Find the derivatives, as `find_sensitivities` does.

        Args:
            states: shape (n, holes), codes of `HOLE_STATES`.
            cents: shape (n,), exact resonances in sounding cents, one for each row of `states`.

        Returns:
            Shape (n, parameters): cents per mm for places, cents per unit of the logarithm for
            all others.
        """
        made = np.empty((len(cents), self._count))
        for first in range(0, len(cents), _BATCH):
            some = slice(first, first + _BATCH)
            made[some] = self._find(states[some], cents[some])
        return made

    def _find(self, states: States, cents: Real) -> Real:
        first, weights = self._weigh(cents)
        below_all = np.zeros(len(cents), dtype=np.int8)  # the foot has one state
        of_pieces = [*(states[:, index] for index in self._model.order), below_all]
        pieces = [
            self._interpolate(place, state, first, weights) for place, state in enumerate(of_pieces)
        ]
        pressure, flow = np.ones(len(cents), np.complex128), np.zeros(len(cents), np.complex128)
        below = []
        for piece in reversed(pieces):
            below.append((pressure, flow))
            a, b, c, d = piece[:, 0]
            pressure, flow = a * pressure + b * flow, c * pressure + d * flow
        # what a change of pressure and of flow below a piece does to the admittance above all
        by_pressure, by_flow = -flow / pressure**2, 1.0 / pressure
        total = self._find_reed_changes(cents)
        for piece, changes in zip(pieces, self._changes, strict=True):
            pressure, flow = below.pop()
            a, b, c, d = piece[:, 1:]
            rows = [0, *(1 + changed.column for changed in changes)]
            total[rows] += by_pressure * (a * pressure + b * flow)
            total[rows] += by_flow * (c * pressure + d * flow)
            a, b, c, d = piece[:, 0]
            by_pressure, by_flow = by_pressure * a + by_flow * c, by_pressure * b + by_flow * d
        return np.asarray((-total[1:].imag / total[0].imag).T)

    def _find_reed_changes(self, cents: Real) -> Complex:
        """Find what cents and parameters do to the reed, shape (1 + parameters, n)."""
        total = np.zeros((1 + self._count, len(cents)), dtype=np.complex128)
        omega, model = find_omega(cents), self._model
        high, low = (find_omega(cents + step) for step in (CENTS_STEP, -CENTS_STEP))
        rise = model.find_reed_admittance(high) - model.find_reed_admittance(low)
        total[0] = rise / (2.0 * CENTS_STEP)
        for column, step, up, down in self._reed_changes:
            change = up.find_reed_admittance(omega) - down.find_reed_admittance(omega)
            total[1 + column] = change / (2.0 * step)
        return total

    def _weigh(self, cents: Real) -> tuple[NDArray[np.int64], Real]:
        """Find the first frequency to interpolate between, (n,), and weights, (points, n)."""
        rows = (cents - self._grid[0]) / _GRID_STEP_CENTS
        first = np.clip(np.floor(rows).astype(np.int64) - 2, 0, len(self._grid) - _POINTS)
        at, nodes = rows - first, np.arange(_POINTS)
        weights = [
            np.prod([(at - other) / (node - other) for other in nodes[nodes != node]], axis=0)
            for node in nodes
        ]
        return first, np.stack(weights)

    def _interpolate(
        self, place: int, states: NDArray[np.int8], first: NDArray[np.int64], weights: Real
    ) -> Complex:
        """Read the tables of a piece, shape (4, 2 + its parameters, n)."""
        made = np.empty((4, 2 + len(self._changes[place]), len(states)), dtype=np.complex128)
        for state in np.unique(states):
            here = np.flatnonzero(states == state)
            table = self._tabulate(place, int(state))
            total = weights[0, here] * table.take(first[here], axis=-1)
            for point in range(1, _POINTS):
                total += weights[point, here] * table.take(first[here] + point, axis=-1)
            made[:, :, here] = total
        return made

    def _tabulate(self, place: int, state: int) -> Complex:
        """Find a piece, its derivative to cents, and those to its parameters.

        Returns shape (entries of a matrix, 2 + parameters, frequency).
        """
        if (place, state) not in self._tables:
            self._tables[place, state] = self._make_table(place, state)
        return self._tables[place, state]

    def _make_table(self, place: int, state: int) -> Complex:
        omega = find_omega(self._grid)
        high, low = (find_omega(self._grid + step) for step in (CENTS_STEP, -CENTS_STEP))
        here = _find_piece(self._model, place, state, omega)
        rise = _find_piece(self._model, place, state, high)
        rise -= _find_piece(self._model, place, state, low)
        columns = [here, rise / (2.0 * CENTS_STEP)]
        for changed in self._changes[place]:
            up = _find_piece(changed.up, place, state, omega)
            down = _find_piece(changed.down, place, state, omega)
            columns.append((up - down) / (2.0 * changed.step))
        return np.stack(columns, axis=1)


def _change(model: TubeModel, parameter: Parameter, column: int) -> _Changed:
    step = STEPS[parameter.measure]
    up, down = (
        TubeModel(change_geometry(model.geometry, [parameter], [change]), model.air)
        for change in (step, -step)
    )
    if not up.order == model.order == down.order:
        raise ValueError(f"Holes of {model.geometry.id} lie nearer than {step} mm to each other.")
    return _Changed(column, step, up, down)


def _find_piece(model: TubeModel, place: int, state: int, omega: Real) -> Complex:
    """Find the matrix of a hole in a state with the bore above it, shape (4, frequency).

    Below the last hole it is that of the foot, of whose lower end only the pressure counts.
    """
    if place == len(model.order):
        zero, one = np.zeros_like(omega, dtype=np.complex128), np.ones_like(omega)
        made, cones = Matrix(one + zero, zero, model.find_bell_admittance(omega), zero), model.foot
    else:
        placed = model.place_hole(place)
        states = np.full(omega.shape, state, dtype=np.int8)
        made, cones = model.hole_matrix(placed.hole, states, omega), placed.above
    for cone in reversed(cones):
        made = model.cone_matrix(cone, omega).times(made)
    return np.stack(made)
