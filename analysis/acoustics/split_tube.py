"""Meet in the middle: transfer matrices of the two halves of a cut tube, and zeros of products.

The machinery of `screening`; see there. The matrices of one half are a product along the bore, so
states that are alike from the end of the tube to some hole share the work up to it. Axis order:
state, frequency.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.linkage import Bits, arrange_holes, decode_holes, encode_holes, mask_holes
from analysis.acoustics.resonances import GRID_STEP_CENTS, RESONANCE_COUNT, find_omega, make_grid
from analysis.acoustics.root_finding import find_rising_zeros
from analysis.acoustics.toneholes import find_hole_matrix
from analysis.acoustics.transfer_matrices import Complex, Matrix, Real, Wave, find_wave
from analysis.acoustics.tube_model import HOLE_STATES, States, TubeModel

Places = NDArray[np.int64]
Numbers = TypeVar("Numbers", Real, Complex)

# So many states of the whole tube are multiplied at once: what they need stays in the cache.
_BLOCK = 256
# So many frequencies around a zero are joined by a polynomial.
_POINTS = 8
# A zero that a step moves by less, in steps of the grid, is found.
_NEAR = 1e-7
_INTERPOLATION = np.linalg.inv(np.vander(np.arange(float(_POINTS)), increasing=True))


class ResonanceArrays(NamedTuple):
    """Resonances of some fingerings: sounding cents and impedance peaks, both of shape (n, 5).

    Not-a-number where there is none.
    """

    cents: Real
    heights: Real


class Halves(NamedTuple):
    """The different states of the two halves, and which two each wanted state is made of.

    `upper` has entries of shape (states above, frequency); `pressure` and `flow` at the cut, for
    1 Pa at the bell, have shape (states below, frequency); `above` and `below` have shape (n,).
    """

    upper: Matrix
    pressure: Complex
    flow: Complex
    above: Places
    below: Places


@dataclass(frozen=True)
class SplitTube:
    """A tube on the grid of frequencies that all its states share, cut at its middle hole."""

    model: TubeModel

    @cached_property
    def grid(self) -> Real:
        """The frequencies, in sounding cents, shape (frequency,)."""
        return make_grid(self.model.geometry)

    @cached_property
    def _omega(self) -> Real:
        return find_omega(self.grid)

    @cached_property
    def _unit(self) -> Real:
        """The characteristic impedance of the bore's top, shape (frequency,)."""
        top_m = self.model.geometry.bore[0].radius_mm / 1000.0
        return np.abs(find_wave(top_m, self._omega, self.model.air).impedance)

    @cached_property
    def _pieces(self) -> tuple[Matrix, ...]:
        """For each hole from the top down: the bore above it and itself, in each of its states.

        Entries of shape (`HOLE_STATES`, frequency).
        """
        waves: dict[float, Wave] = {}
        made = []
        for placed in self.model.holes:
            one, zero = np.ones_like(self._omega), np.zeros_like(self._omega)
            bore = Matrix(*(entry.astype(np.complex128) for entry in (one, zero, zero, one)))
            for cone in placed.above:
                bore = bore.times(self.model.cone_matrix(cone, self._omega, waves))
            states = [
                find_hole_matrix(placed.hole, state, omega=self._omega, air=self.model.air)
                for state in HOLE_STATES
            ]
            hole = Matrix(*(np.stack(entries) for entries in zip(*states, strict=True)))
            made.append(bore.times(hole))
        return tuple(made)

    def find(self, holes: Bits) -> ResonanceArrays:
        """Find the resonances of hole sets, shape (n,)."""
        halves = self._build(holes)
        upper = _tabulate_upper(halves.upper, self.model.find_reed_admittance(self._omega))
        lower = _tabulate_lower(halves.pressure, halves.flow)
        cents = np.full((len(holes), RESONANCE_COUNT), np.nan)
        heights = np.full_like(cents, np.nan)
        order = np.lexsort((halves.below, halves.above))
        for first in range(0, len(holes), _BLOCK):
            places = order[first : first + _BLOCK]
            values = _multiply(upper, lower, halves.above[places], halves.below[places])
            crossings = find_crossings(values)
            target = places[crossings.states], crossings.numbers
            found = self._place_zeros(halves, target[0], crossings.rows)
            cents[target], heights[target] = found
        return ResonanceArrays(cents, heights)

    def _place_zeros(self, halves: Halves, states: Places, rows: Places) -> tuple[Real, Real]:
        """Place zeros between two frequencies, and find how high the impedance is there.

        Without the reed pressure and flow are smooth, so each is joined by a polynomial through
        the frequencies around; the reed, which has a resonance of its own, is added to them.

        Args:
            halves: what the states are made of.
            states: which of them, shape (n,).
            rows: the frequency before each zero, shape (n,).

        Returns:
            Sounding cents, and impedances over that of the bore's top, both of shape (n,).
        """
        first = np.clip(rows - _POINTS // 2 + 1, 0, len(self.grid) - _POINTS)
        pressure, flow = _join(halves, states, first)
        power, square = _find_product(flow, pressure), _find_product(1j * pressure, pressure)
        start = (rows - first).astype(np.float64)

        def evaluate(at: Real, some: Places) -> Real:
            reed = self.model.find_reed_admittance(self._find_omega(first[some] + at))
            return _sum_powers(power[:, some], at) + reed.imag * _sum_powers(square[:, some], at)

        every, ends = np.arange(len(rows)), (start, start + 1.0)
        values = evaluate(ends[0], every), evaluate(ends[1], every)
        zeros = find_rising_zeros(evaluate, ends, values, near=_NEAR)
        omega = self._find_omega(first + zeros)
        admittance = _sum_powers(flow, zeros) / _sum_powers(pressure, zeros)
        admittance += self.model.find_reed_admittance(omega)
        unit = np.interp(first + zeros, np.arange(len(self.grid)), self._unit)
        return self._find_cents(first + zeros), 1.0 / (admittance.real * unit)

    def _find_cents(self, rows: Real) -> Real:
        return np.asarray(self.grid[0] + GRID_STEP_CENTS * rows)

    def _find_omega(self, rows: Real) -> Real:
        return find_omega(self._find_cents(rows))

    def _build(self, holes: Bits) -> Halves:
        order = [placed.index for placed in self.model.holes]
        sets, count, cut = arrange_holes(holes, order), len(order), len(order) // 2
        above, above_index = np.unique(mask_holes(sets, 0, cut), return_inverse=True)
        below, below_index = np.unique(mask_holes(sets, cut, count), return_inverse=True)
        return Halves(
            self._build_upper(decode_holes(above, count)[:, :cut]),
            *self._build_lower(decode_holes(below, count)[:, cut:], first_hole=cut),
            above_index,
            below_index,
        )

    def _build_upper(self, states: States) -> Matrix:
        """Multiply the matrices above the cut, for states of shape (n, holes above)."""
        one = np.ones((1, len(self.grid)), dtype=np.complex128)
        made = Matrix(one, 0 * one, 0 * one, one)
        index = np.zeros(len(states), dtype=np.int64)
        for column in range(states.shape[1]):
            first, following = _find_distinct(states[:, : column + 1])
            piece = _take(self._pieces[column], states[first, column])
            made = _take(made, index[first]).times(piece)
            index = following
        return _take(made, index)

    def _build_lower(self, states: States, *, first_hole: int) -> tuple[Complex, Complex]:
        """Find pressure and flow at the cut, for states of shape (n, holes below)."""
        flow = self.model.find_foot_admittance(self._omega)[np.newaxis]
        pressure = np.ones_like(flow)
        index = np.zeros(len(states), dtype=np.int64)
        for column in reversed(range(states.shape[1])):
            first, following = _find_distinct(states[:, column:])
            piece = _take(self._pieces[first_hole + column], states[first, column])
            pressure, flow = piece.apply(pressure[index[first]], flow[index[first]])
            index = following
        return pressure[index], flow[index]


def _find_distinct(states: States) -> tuple[Places, Places]:
    """Find the first place of each different row, and for every row the number of its like."""
    _, first, index = np.unique(encode_holes(states), return_index=True, return_inverse=True)
    return first, index


def _take(matrix: Matrix, rows: NDArray[np.integer]) -> Matrix:
    return Matrix(*(entry.take(rows, axis=0) for entry in matrix))


def _tabulate_upper(matrix: Matrix, reed: Complex) -> tuple[Real, ...]:
    """Find the four numbers above the cut; their products with those below are Im(U p*).

    `reed` is its admittance, shape (frequency,).
    """
    a, b, c, d = matrix.a, matrix.b, matrix.c + reed * matrix.a, matrix.d + reed * matrix.b
    ca, db, cb, da = c * a.conj(), d * b.conj(), c * b.conj(), d * a.conj()
    return ca.imag.copy(), db.imag.copy(), cb.imag + da.imag, da.real - cb.real


def _tabulate_lower(pressure: Complex, flow: Complex) -> tuple[Real, ...]:
    """Find the four numbers below the cut."""
    power = flow * pressure.conj()
    return np.abs(pressure) ** 2, np.abs(flow) ** 2, power.real.copy(), power.imag.copy()


def _multiply(
    upper: tuple[Real, ...], lower: tuple[Real, ...], above: Places, below: Places
) -> Real:
    """Find Im(U p*) at the reed, shape (n, frequency), of pairs of states, shape (n,) both."""
    values = np.zeros((len(above), upper[0].shape[1]))
    for from_above, from_below in zip(upper, lower, strict=True):
        product = from_above.take(above, axis=0)
        product *= from_below.take(below, axis=0)
        values += product
    return values


class Crossings(NamedTuple):
    """Where rows of a table rise through zero: state, frequency before, count from 0."""

    states: Places
    rows: Places
    numbers: Places


def find_crossings(values: Real) -> Crossings:
    """Find the first upward zeros of each state; `values` of shape (states, frequencies)."""
    is_below = values < 0
    states, rows = np.nonzero(is_below[:, :-1] & ~is_below[:, 1:])
    numbers = np.arange(len(states)) - np.searchsorted(states, states)
    keep = numbers < RESONANCE_COUNT
    return Crossings(states[keep], rows[keep], numbers[keep])


def _join(halves: Halves, states: Places, first: Places) -> tuple[Complex, Complex]:
    """Find polynomials of pressure and flow below the reed through some frequencies.

    Args:
        halves: what the states are made of.
        states: which of them, shape (n,).
        first: the first of the frequencies, shape (n,).

    Returns:
        Coefficients of both, the lowest power first, shape (points, n).
    """
    around = first + np.arange(_POINTS)[:, np.newaxis]
    above, below = halves.above[states], halves.below[states]
    upper = Matrix(*(entry[above, around] for entry in halves.upper))
    pressure, flow = upper.apply(halves.pressure[below, around], halves.flow[below, around])
    return _INTERPOLATION @ pressure, _INTERPOLATION @ flow


def _find_product(first: Complex, second: Complex) -> Real:
    """Find Im(first second*) of polynomials, shape (points, n): that of twice the degree."""
    made = np.zeros((2 * _POINTS - 1, first.shape[1]))
    for degree, coefficient in enumerate(first):
        made[degree : degree + _POINTS] += np.imag(coefficient * second.conj())
    return made


def _sum_powers(coefficients: Numbers, at: Real) -> Numbers:
    """Find the values of polynomials, lowest power first, by Horner's rule."""
    value: Numbers = np.zeros_like(coefficients[0])
    for coefficient in coefficients[::-1]:
        value = value * at + coefficient
    return value
