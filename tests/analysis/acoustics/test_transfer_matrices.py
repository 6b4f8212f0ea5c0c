import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ive

from analysis.acoustics.air import find_air
from analysis.acoustics.transfer_matrices import Matrix, Real, find_cone_matrix, find_wave

AIR = find_air(26.0)
# Air without friction and heat conduction, for the closed forms of ideal tubes.
IDEAL = replace(AIR, viscous_length_m=1e-30, thermal_length_m=1e-30)
SPEED = AIR.sound_speed_m_s


def find_rising(hz: Real, values: Real) -> Real:
    """Upward zeros of a finely tabulated function."""
    at = np.nonzero((values[:-1] < 0) & (values[1:] >= 0))[0]
    return np.asarray(hz[at] + (hz[1] - hz[0]) * values[at] / (values[at] - values[at + 1]))


def make_hz() -> Real:
    return np.arange(20.0, 3000.0, 0.05)


def find_open_end(matrix: Matrix) -> Real:
    """Imaginary part of the input admittance with no pressure at the lower end, free of poles."""
    return np.imag(matrix.d * matrix.b.conj())


@pytest.mark.parametrize("radius_m", [0.0013, 0.003, 0.0075, 0.03])
def test_wall_losses_are_those_of_the_exact_bessel_ratio(radius_m: float) -> None:
    # Zwikker & Kosten (1949) with scipy's scaled Bessel functions.
    omega = 2 * np.pi * np.array([60.0, 250.0, 1500.0])
    shares = []
    for length in (AIR.viscous_length_m, AIR.thermal_length_m):
        w = radius_m * np.sqrt(1j * omega / (SPEED * length))
        shares.append(2 * ive(1, w) / (w * ive(0, w)))
    stiffness = 1 + (AIR.heat_ratio - 1) * shares[1]
    expected = omega / SPEED * np.sqrt(stiffness / (1 - shares[0]))
    assert find_wave(radius_m, omega, AIR).number == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("hz", [150.0, 500.0, 1500.0])
def test_wall_losses_are_those_of_keefes_wide_tube(hz: float) -> None:
    # Keefe, J. Acoust. Soc. Am. 75 (1984) 58-62, his fits for air at 300 K, coefficients from
    # memory: phase 1 + 1.045 / r, attenuation 1.045 / r + 1.080 / r^2 + 0.750 / r^3.
    air = find_air(26.85)
    omega = np.array([2 * np.pi * hz])
    ratio = 0.0075 * math.sqrt(omega[0] / (air.sound_speed_m_s * air.viscous_length_m))
    number = find_wave(0.0075, omega, air).number[0] * air.sound_speed_m_s / omega[0]
    assert number.real == pytest.approx(1 + 1.045 / ratio, abs=2e-4)
    assert -number.imag == pytest.approx(
        1.045 / ratio + 1.080 / ratio**2 + 0.750 / ratio**3, rel=0.02
    )


def test_an_ideal_cylinder_sounds_odd_multiples_of_a_quarter_wave() -> None:
    hz = make_hz()
    matrix = find_cone_matrix(0.0075, 0.0075, 0.5, omega=2 * np.pi * hz, air=IDEAL)
    lowest = SPEED / 4 / 0.5
    found = find_rising(hz, np.imag(matrix.d / matrix.b) * np.abs(matrix.b) ** 2)
    assert found[:5] == pytest.approx(lowest * np.array([1, 3, 5, 7, 9]), rel=1e-6)


def test_an_ideal_cylinder_closed_at_its_end_sounds_half_waves() -> None:
    hz = make_hz()
    matrix = find_cone_matrix(0.0075, 0.0075, 0.5, omega=2 * np.pi * hz, air=IDEAL)
    found = find_rising(hz, np.imag(matrix.c * matrix.a.conj()))
    assert found[:3] == pytest.approx(SPEED / 2 / 0.5 * np.array([1, 2, 3]), rel=1e-6)


def test_losses_flatten_a_cylinder_by_their_first_order_share() -> None:
    # First order of Keefe (1984): the wave is slower by 1.045 / r, so the tube sounds lower.
    hz = np.arange(160.0, 180.0, 0.001)
    matrix = find_cone_matrix(0.0075, 0.0075, 0.5, omega=2 * np.pi * hz, air=AIR)
    found = find_rising(hz, find_open_end(matrix))[0]
    ratio = 0.0075 * math.sqrt(2 * np.pi * found / (SPEED * AIR.viscous_length_m))
    cents = 1200 * math.log2(found / (SPEED / 4 / 0.5))
    assert cents == pytest.approx(-1200 / math.log(2) * 1.045 / ratio, rel=0.02)


def test_a_truncated_cone_sounds_where_the_closed_form_says() -> None:
    # Closed at its narrow end, open at its wide one: tan(k L) = -k x1 with x1 from the apex, e.g.
    # Ayers, Eliason & Mahgerefteh, Am. J. Phys. 53 (1985) 528-537 (equation from memory; it
    # follows from spherical waves in two lines).
    hz = make_hz()
    upper, lower, length = 0.005, 0.02, 0.6
    matrix = find_cone_matrix(upper, lower, length, omega=2 * np.pi * hz, air=IDEAL)
    apex = upper * length / (lower - upper)
    for found in find_rising(hz, find_open_end(matrix))[:4]:
        k = 2 * np.pi * found / SPEED
        assert math.sin(k * length) == pytest.approx(-k * apex * math.cos(k * length), abs=1e-4)


def test_a_cone_in_two_pieces_is_the_whole_cone() -> None:
    omega = 2 * np.pi * make_hz()[::500]
    whole = find_cone_matrix(0.005, 0.02, 0.6, omega=omega, air=IDEAL)
    upper = find_cone_matrix(0.005, 0.01, 0.2, omega=omega, air=IDEAL)
    joined = upper.times(find_cone_matrix(0.01, 0.02, 0.4, omega=omega, air=IDEAL))
    for one, other in zip(whole, joined, strict=True):
        assert np.abs(one - other).max() <= 1e-9 * np.abs(one).max()


@given(
    st.floats(0.001, 0.03), st.floats(0.001, 0.03), st.floats(1e-6, 0.5), st.floats(50.0, 2000.0)
)
def test_every_piece_of_bore_is_reciprocal(
    upper: float, lower: float, length: float, hz: float
) -> None:
    # The determinant of a reciprocal two-port is 1.
    m = find_cone_matrix(upper, lower, length, omega=np.array([2 * np.pi * hz]), air=AIR)
    assert (m.a * m.d - m.b * m.c)[0] == pytest.approx(1.0, abs=1e-6)
