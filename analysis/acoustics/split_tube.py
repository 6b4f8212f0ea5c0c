"""Meet in the middle: transfer matrices of the two halves of a cut tube, and zeros of products.

The machinery of `screening`; see there. Axis order: frequency, state of the half, four numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.linkage import Bits, arrange_holes, decode_holes, encode_holes, mask_holes
from analysis.acoustics.resonances import GRID_STEP_CENTS, RESONANCE_COUNT, find_omega, make_grid
from analysis.acoustics.root_finding import find_rising_zeros
from analysis.acoustics.toneholes import find_hole_matrix
from analysis.acoustics.transfer_matrices import Complex, Matrix, Real, find_wave
from analysis.acoustics.tube_model import HOLE_STATES, Cone, PlacedHole, States, TubeModel

Single = NDArray[np.float32]
Places = NDArray[np.int64]

# States above the cut times those below that are multiplied at once: bounds memory.
_BLOCK = 4_000
# Six points: a cubic through four leaves up to a cent where a resonance is shallow.
_POINTS = 6
_INTERPOLATION = np.linalg.inv(np.vander(np.arange(float(_POINTS)), increasing=True))


class ResonanceArrays(NamedTuple):
    """Resonances of some fingerings: sounding cents and impedance peaks, both of shape (n, 5).

    Not-a-number where there is none.
    """

    cents: Real
    heights: Real


class Upper(NamedTuple):
    """Four numbers of each state above the cut, for three products with those below.

    `imaginary` and `real` give the parts of U p* at the reed, `square` gives |p|^2.
    """

    imaginary: Single
    real: Single
    square: Single


@dataclass(frozen=True)
class SplitTube:
    """A cut tube: what each state of either half does, and which pairs of states are wanted."""

    grid: Real
    upper: Upper
    lower: Single
    upper_index: Places
    lower_index: Places

    @classmethod
    def cut(cls, model: TubeModel, holes: Bits) -> Self:
        """Cut a tube where the fewest pairs of states have to be multiplied.

        Args:
            model: the tube.
            holes: the hole sets that are wanted, shape (n,).
        """
        grid = make_grid(model.geometry)
        omega = find_omega(grid)
        order = [placed.index for placed in model.holes]
        sets = arrange_holes(holes, order)
        at = _choose_cut(sets, len(order))
        upper_sets, upper_index = np.unique(mask_holes(sets, 0, at), return_inverse=True)
        lower_sets, lower_index = np.unique(mask_holes(sets, at, len(order)), return_inverse=True)
        top_m = model.geometry.bore[0].radius_mm / 1000.0
        unit = np.abs(find_wave(top_m, omega, model.air).impedance)[:, np.newaxis]
        upper = _find_upper(model, decode_holes(upper_sets, len(order))[:, :at], omega)
        lower = _find_lower(
            model, decode_holes(lower_sets, len(order))[:, at:], omega, first_hole=at
        )
        return cls(
            grid=grid,
            upper=_split_upper(upper, unit),
            lower=_split_lower(*lower, unit),
            upper_index=upper_index,
            lower_index=lower_index,
        )

    def solve(self, report: Callable[[float], None]) -> Iterator[tuple[Places, ResonanceArrays]]:
        """Solve block by block; yields places in the wanted hole sets and their resonances."""
        order = np.lexsort((self.lower_index, self.upper_index))
        above = self.upper_index[order]
        lower_count = self.lower.shape[1]
        step = max(1, _BLOCK // lower_count)
        upper_count = self.upper.imaginary.shape[1]
        for first in range(0, upper_count, step):
            last = min(first + step, upper_count)
            places = order[slice(*np.searchsorted(above, [first, last]))]
            yield places, self._solve_block(places, first, last)
            report(last / upper_count)

    def _solve_block(self, places: Places, first: int, last: int) -> ResonanceArrays:
        lower = np.swapaxes(self.lower, 1, 2)
        product = np.matmul(self.upper.imaginary[:, first:last], lower)
        columns = (self.upper_index[places] - first) * self.lower.shape[1] + self.lower_index[
            places
        ]
        values = np.take(product.reshape(len(self.grid), -1), columns, axis=1)
        crossings = find_crossings(values)
        share = place_zeros(values, crossings)
        cents = np.full((len(places), RESONANCE_COUNT), np.nan)
        heights = np.full_like(cents, np.nan)
        target = crossings.columns, crossings.numbers
        cents[target] = self.grid[crossings.rows] + GRID_STEP_CENTS * share
        heights[target] = self._find_heights(places[crossings.columns], crossings.rows, share)
        return ResonanceArrays(cents, heights)

    def _find_heights(self, places: Places, rows: Places, share: Real) -> Real:
        above, below = self.upper_index[places], self.lower_index[places]
        real, square = np.zeros(len(places)), np.zeros(len(places))
        for row, weight in ((rows, 1.0 - share), (rows + 1, share)):
            lower = self.lower[row, below]
            real += weight * np.einsum("ij,ij->i", self.upper.real[row, above], lower)
            square += weight * np.einsum("ij,ij->i", self.upper.square[row, above], lower)
        return square / real


def _choose_cut(sets: Bits, count: int) -> int:
    """Find the number of holes above the cut that leaves the fewest pairs of states."""

    def count_pairs(at: int) -> int:
        above, below = mask_holes(sets, 0, at), mask_holes(sets, at, count)
        return len(np.unique(above)) * len(np.unique(below))

    return min(range(count // 3, 2 * count // 3 + 1), key=count_pairs)


class _Distinct(NamedTuple):
    """Different rows: the first place of each, and for every row the number of its like."""

    first: Places
    like: Places


def _find_distinct(states: States) -> _Distinct:
    _, first, index = np.unique(encode_holes(states), return_index=True, return_inverse=True)
    return _Distinct(first, index.reshape(-1))


def _find_upper(model: TubeModel, states: States, omega: Real) -> Matrix:
    """Multiply the matrices above the cut; entries of shape (frequency, state)."""
    one = np.ones((len(omega), 1), dtype=np.complex128)
    made = Matrix(one, 0 * one, model.find_reed_admittance(omega)[:, np.newaxis], one)
    index = np.zeros(len(states), dtype=np.int64)
    for column, placed in enumerate(model.holes[: states.shape[1]]):
        for cone in placed.above:
            made = made.times(_columns(model.cone_matrix(cone, omega)))
        first, following = _find_distinct(states[:, : column + 1])
        table = _tabulate(model, placed, omega)
        made = _take(made, index[first]).times(_take(table, states[first, column]))
        index = following
    return made


def _find_lower(
    model: TubeModel, states: States, omega: Real, *, first_hole: int
) -> tuple[Complex, Complex]:
    """Find pressure and flow at the cut for 1 Pa at the bell, of shape (frequency, state)."""
    pressure = np.ones((len(omega), 1), dtype=np.complex128)
    flow = model.find_bell_admittance(omega)[:, np.newaxis]
    pressure, flow = _climb(model, model.foot, pressure, flow, omega)
    index = np.zeros(len(states), dtype=np.int64)
    for column in reversed(range(states.shape[1])):
        placed = model.holes[first_hole + column]
        first, following = _find_distinct(states[:, column:])
        hole = _take(_tabulate(model, placed, omega), states[first, column])
        pressure, flow = hole.apply(pressure[:, index[first]], flow[:, index[first]])
        pressure, flow = _climb(model, placed.above, pressure, flow, omega)
        index = following
    return pressure, flow


def _climb(
    model: TubeModel, cones: tuple[Cone, ...], pressure: Complex, flow: Complex, omega: Real
) -> tuple[Complex, Complex]:
    for cone in reversed(cones):
        pressure, flow = _columns(model.cone_matrix(cone, omega)).apply(pressure, flow)
    return pressure, flow


def _tabulate(model: TubeModel, placed: PlacedHole, omega: Real) -> Matrix:
    """Find the matrices of a hole in each of `HOLE_STATES`, of shape (frequency, state)."""
    made = [find_hole_matrix(placed.hole, s, omega=omega, air=model.air) for s in HOLE_STATES]
    return Matrix(*(np.stack(entries, axis=1) for entries in zip(*made, strict=True)))


def _columns(matrix: Matrix) -> Matrix:
    return Matrix(*(entry[:, np.newaxis] for entry in matrix))


def _take(matrix: Matrix, columns: NDArray[np.integer]) -> Matrix:
    return Matrix(*(entry[:, columns] for entry in matrix))


def _split_upper(matrix: Matrix, unit: Real) -> Upper:
    """Make the four numbers above the cut; flows count in units of 1 / `unit`."""
    a, b, c, d = matrix.a, matrix.b / unit, matrix.c * unit, matrix.d
    ca, db, cb, da, ab = c * a.conj(), d * b.conj(), c * b.conj(), d * a.conj(), a.conj() * b
    return Upper(
        imaginary=_stack(ca.imag, db.imag, cb.imag + da.imag, da.real - cb.real),
        real=_stack(ca.real, db.real, cb.real + da.real, cb.imag - da.imag),
        square=_stack(np.abs(a) ** 2, np.abs(b) ** 2, 2 * ab.real, -2 * ab.imag),
    )


def _split_lower(pressure: Complex, flow: Complex, unit: Real) -> Single:
    power = flow * unit * pressure.conj()
    return _stack(np.abs(pressure) ** 2, np.abs(flow * unit) ** 2, power.real, power.imag)


def _stack(*numbers: Real) -> Single:
    return np.stack(numbers, axis=-1).astype(np.float32)


class Crossings(NamedTuple):
    """Where columns of a table rise through zero: column, row before, count from 0."""

    columns: Places
    rows: Places
    numbers: Places


def find_crossings(values: Single) -> Crossings:
    """Find the first upward zeros of each column; `values` of shape (rows, columns)."""
    is_below = values < 0
    rows, columns = np.nonzero(is_below[:-1] & ~is_below[1:])
    order = np.argsort(columns, kind="stable")
    rows, columns = rows[order], columns[order]
    numbers = np.arange(len(columns)) - np.searchsorted(columns, columns)
    keep = numbers < RESONANCE_COUNT
    return Crossings(columns[keep], rows[keep], numbers[keep])


def place_zeros(values: Single, crossings: Crossings) -> Real:
    """Place zeros between two rows, 0 to 1, by the polynomial through the six rows around them.

    `values` of shape (rows, columns); returns one place for each crossing, shape (n,).
    """
    first = np.clip(crossings.rows - _POINTS // 2 + 1, 0, len(values) - _POINTS)
    rows = first + np.arange(_POINTS)[:, np.newaxis]
    around = values[rows, crossings.columns].astype(np.float64)
    start = (crossings.rows - first).astype(np.float64)
    coefficients = _INTERPOLATION @ around
    end = start + 1.0
    found = _evaluate(coefficients, start), _evaluate(coefficients, end)
    zeros = find_rising_zeros(lambda at, _: _evaluate(coefficients, at), (start, end), found)
    return zeros - start


def _evaluate(coefficients: Real, at: Real) -> Real:
    """Find the values of polynomials, lowest power first, by Horner's rule."""
    value = np.zeros_like(at)
    for coefficient in coefficients[::-1]:
        value = value * at + coefficient
    return value
