"""Resonances of a fingering: the upward zeros of the imaginary part of the input admittance.

There a fingering can sound. A reed closes the tube, so it sounds near the frequencies where the
admittance that it sees is real and small: its imaginary part passes zero going up (Nederveen,
Acustica 14, 1964; Chaigne & Kergomard 2016, chapter 9). Zeros are counted from the lowest: the
first is the chalumeau's and the throat's, the second the clarion's, those from the third on the
altissimo's. Poles and zeros alternate on a tube without losses and can't overtake each other when
holes open or close (Foster, Bell Syst. Tech. J. 3, 1924), so counting follows a resonance from a
base fingering to any other. Losses may remove a weak zero together with the pole beside it; those
above it then count one less. The pitch is right all the same, but the number names another
register: rare up to the second resonance, not rare above it.

Conventions: sounding cents with A4 = 6900 at 440 Hz; written cents in treble notation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.air import CALIBRATION_TEMPERATURE_C, find_air
from analysis.acoustics.geometry import Geometry
from analysis.acoustics.root_finding import Places, find_rising_zeros
from analysis.acoustics.transfer_matrices import Real, find_wave
from analysis.acoustics.tube_model import HOLE_STATES, SHADED, States, TubeModel
from analysis.keywork import HoleState, KeyStates, find_hole_states
from analysis.pitch import Register, register_bounds

RESONANCE_COUNT = 5
GRID_STEP_CENTS = 20.0
# The grid begins this far below the lowest written note and ends at written C7, the top of what
# sopranos play in practice, plus a semitone.
_BELOW_CENTS = 200.0
_TOP_CENTS = 9700.0
_SECANT_STEPS = 4
# A zero that a step moves by less than this lies within as much of where it is then.
_NEAR_CENTS = 1e-6


@dataclass(frozen=True, slots=True)
class Resonance:
    """One resonance of a fingering.

    `number` counts from the lowest. `height` is the impedance there over the characteristic
    impedance of the top of the bore: it sounds the more readily the higher it is, but
    which register speaks can't be told from the tube alone.
    """

    number: int
    register: Register
    sounding_cents: float
    written_cents: float
    height: float


def find_register(number: int, written_cents: float) -> Register:
    """Name the register of a resonance by its number, and by its height for the first.

    >>> find_register(1, 6700.0), find_register(2, 7400.0)
    (<Register.THROAT: 'throat'>, <Register.CLARION: 'clarion'>)
    """
    if number == 2:
        return Register.CLARION
    if number > 2:
        return Register.ALTISSIMO
    lower = (Register.EXTENSION, Register.CHALUMEAU)
    return next(
        (register for register in lower if written_cents < register_bounds(register)[1]),
        Register.THROAT,
    )


def predict(
    fingering: KeyStates,
    geometry: Geometry,
    *,
    temperature_c: float = CALIBRATION_TEMPERATURE_C,
) -> tuple[Resonance, ...]:
    """Predict where a fingering can sound, from the lowest resonance up.

    The input admittance of the whole tube is computed by transfer matrices and its upward zeros
    are found on a grid and refined to well below 0.01 cent.

    Args:
        fingering: its layout must be the geometry's.
        geometry: the tube.
        temperature_c: of the air inside, 0 to 45; the geometries are in tune at 26.

    Returns:
        Up to five resonances; fewer where the tube has none below written C#7.

    Raises:
        TemperatureOutOfRange: for air that the formulas do not cover.

    Limits: the geometries are plausible instruments, not measured ones. A register that is
    listed need not speak, and a shaded hole is a guess.

    >>> from analysis.acoustics import load_geometry
    >>> from analysis.keywork import load_layout, parse_fingering
    >>> g3 = parse_fingering("T 123 | 123", load_layout("soprano-17-6"))
    >>> first = predict(g3, load_geometry("b-flat-soprano", "soprano-17-6"))[0]
    >>> str(first.register), abs(first.written_cents - 5500) < 10
    ('chalumeau', True)
    """
    states = encode_states(fingering)[np.newaxis]
    model = TubeModel(geometry, find_air(temperature_c))
    cents = find_resonances(model, states)
    heights = find_heights(model, states, cents)
    return tuple(
        Resonance(
            number=number,
            register=find_register(number, found - geometry.treble_transposition_cents),
            sounding_cents=float(found),
            written_cents=float(found - geometry.treble_transposition_cents),
            height=float(height),
        )
        for number, (found, height) in enumerate(zip(cents[0], heights[0], strict=True), start=1)
        if np.isfinite(found)
    )


# A vented plate leaves the opening that its geometry gives, as what a finger leaves free does.
_CODES = {state: code for code, state in enumerate(HOLE_STATES)} | {HoleState.VENTED: SHADED}


def encode_states(fingering: KeyStates) -> NDArray[np.int8]:
    """Write the states of a fingering's holes as codes, in the order of the layout."""
    states = find_hole_states(fingering).values()
    return np.array([_CODES[state] for state in states], dtype=np.int8)


def make_grid(geometry: Geometry) -> Real:
    """Make the grid of sounding cents on which zeros are looked for."""
    shift = geometry.treble_transposition_cents
    return np.arange(geometry.lowest_cents - _BELOW_CENTS, _TOP_CENTS, GRID_STEP_CENTS) + shift


def find_omega(cents: Real) -> Real:
    """Find the angular frequencies in rad/s of sounding cents, any shape; returns the same."""
    return np.asarray(2.0 * np.pi * 440.0 * 2.0 ** ((cents - 6900.0) / 1200.0))


def find_resonances(model: TubeModel, states: States) -> Real:
    """Find the resonances of many fingerings at once.

    Args:
        model: the tube in its air.
        states: shape (n, holes), codes of `HOLE_STATES`.

    Returns:
        Sounding cents, shape (n, 5); not-a-number where there is no such resonance.
    """
    grid = make_grid(model.geometry)
    values = np.imag(model.find_input_admittance(states[:, np.newaxis], find_omega(grid)))
    rows, numbers, cells = _list_cells(values)
    ends = grid[cells], grid[cells + 1]
    found = np.full((len(states), RESONANCE_COUNT), np.nan)
    found[rows, numbers] = find_rising_zeros(
        lambda cents, some: _imaginary(model, states[rows[some]], cents),
        ends,
        (values[rows, cells], values[rows, cells + 1]),
        near=_NEAR_CENTS,
    )
    return found


def _list_cells(values: Real) -> tuple[Places, Places, Places]:
    """List the first cells with an upward zero: row, number from 0, and place on the grid."""
    is_up = (values[:, :-1] < 0) & (values[:, 1:] >= 0)
    rows, places = np.nonzero(is_up)
    numbers = np.cumsum(is_up, axis=1)[rows, places] - 1
    keep = numbers < RESONANCE_COUNT
    return rows[keep], numbers[keep], places[keep]


def follow_resonances(model: TubeModel, states: States, cents: Real, *, reach_cents: float) -> Real:
    """Follow resonances of one number each from where they were, by the secant method.

    Args:
        model: a tube that differs a little from the one before.
        states: shape (n, holes).
        cents: shape (n,), where they were.
        reach_cents: no resonance moves further than this.
    """
    low, high = cents - reach_cents, cents + reach_cents
    old = cents + 1.0
    old_value = np.imag(model.find_input_admittance(states, find_omega(old)))
    for _ in range(_SECANT_STEPS):
        value = np.imag(model.find_input_admittance(states, find_omega(cents)))
        slope = value - old_value
        # No slope: both values are equal, so the zero is reached.
        share = np.divide(value, slope, out=np.zeros_like(value), where=slope != 0)
        following = np.clip(cents - share * (cents - old), low, high)
        old, old_value, cents = cents, value, following
    return cents


def find_heights(model: TubeModel, states: States, cents: Real) -> Real:
    """Find the impedance at resonances over the characteristic impedance of the top of the bore.

    Shapes as for `find_resonances`; not-a-number where `cents` is.
    """
    there = np.where(np.isnan(cents), make_grid(model.geometry)[0], cents)
    admittance = model.find_input_admittance(states[:, np.newaxis], find_omega(there))
    top_m = model.geometry.bore[0].radius_mm / 1000.0
    unit = np.abs(find_wave(top_m, find_omega(there), model.air).impedance)
    return np.where(np.isnan(cents), np.nan, 1.0 / (np.real(admittance) * unit))


def _imaginary(model: TubeModel, states: States, cents: Real) -> Real:
    return np.asarray(np.imag(model.find_input_admittance(states, find_omega(cents))))
