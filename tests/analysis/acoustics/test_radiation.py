from collections.abc import Callable

import numpy as np
import pytest

from analysis.acoustics.radiation import find_flanged_phase, find_pad_length, find_unflanged_phase
from analysis.acoustics.transfer_matrices import Complex, Real

FindPhase = Callable[[Real, float], Complex]
RADIUS_M = 0.01


def test_a_thin_walled_end_is_six_tenths_of_a_radius_longer() -> None:
    # Levine & Schwinger, Phys. Rev. 73 (1948) 383-406: 0.6133 radii and resistance (k a)^2 / 4.
    impedance = np.tan(find_unflanged_phase(np.array([1.0]), RADIUS_M)) * 1j
    assert impedance.imag[0] / RADIUS_M == pytest.approx(0.6133, abs=1e-4)
    assert impedance.real[0] == pytest.approx(RADIUS_M**2 / 4, rel=0.01)


def test_a_flanged_end_is_eight_tenths_of_a_radius_longer() -> None:
    # Norris & Sheng, J. Sound Vib. 135 (1989) 85-93: 0.8216 radii; a piston in a wall radiates
    # (k a)^2 / 2 (Rayleigh).
    impedance = np.tan(find_flanged_phase(np.array([1.0]), RADIUS_M)) * 1j
    assert impedance.imag[0] / RADIUS_M == pytest.approx(0.8216, abs=1e-3)
    assert impedance.real[0] == pytest.approx(RADIUS_M**2 / 2, rel=0.01)


@pytest.mark.parametrize(("ka", "modulus"), [(0.5, 0.885), (1.0, 0.68), (1.5, 0.49)])
def test_reflection_falls_as_levine_and_schwingers_curve(ka: float, modulus: float) -> None:
    # Read off the figure of their paper, from memory: good to 0.03.
    phase = find_unflanged_phase(np.array([ka / RADIUS_M]), RADIUS_M)
    assert float(np.abs(np.exp(-2j * phase))[0]) == pytest.approx(modulus, abs=0.03)


@pytest.mark.parametrize("find_phase", [find_unflanged_phase, find_flanged_phase])
def test_no_end_gives_back_more_at_a_higher_frequency(find_phase: FindPhase) -> None:
    # Levine & Schwinger: the modulus falls from 1 towards 0, for every k a.
    modulus = np.abs(np.exp(-2j * find_phase(np.geomspace(0.01, 50, 200) / RADIUS_M, RADIUS_M)))
    assert 0.99 < modulus[0] <= 1 and 0 < modulus[-1] < 0.12
    assert (np.diff(modulus) <= 1e-12).all()


def test_a_low_pad_lengthens_a_hole_and_a_high_one_hardly_does() -> None:
    lengths = [
        find_pad_length(hole_radius_m=0.005, pad_radius_m=0.007, height_m=h, rim_m=0.001)
        for h in (0.0005, 0.002, 0.004, 0.02)
    ]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < 0.0001
