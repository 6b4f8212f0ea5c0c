"""Transfer matrices of tone holes as T circuits: open, closed and shaded.

Two equal halves of a series impedance with a shunt impedance between them. Conventions as in
`transfer_matrices`; b is the hole's radius, a the bore's, d = b / a, t the chimney, k the wave
number.

Sources: Lefebvre & Scavone, J. Acoust. Soc. Am. 131 (2012) 3153-3163: inner length of open and
closed holes eqs. 31-32, series length of open holes eq. 33, of closed holes eq. 34 (d from 0.1 to
1, k a below about 1; finite elements); matching volume between hole and bore, Nederveen, Jansen &
van Hassel, Acustica 84 (1998) 957-966; radiation and pads as in `radiation`. A shaded hole ends in
an iris with flanged radiation (Norris & Sheng 1989) and, on its inside, the end length of an
orifice in a round tube, 0.82 (1 - 1.25 ratio) radii (Rayleigh's flange, and its
weakening after Fok; both from memory): a form that nobody has measured on a clarinet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analysis.acoustics.air import Air
from analysis.acoustics.radiation import find_flanged_phase, find_pad_length, find_unflanged_phase
from analysis.acoustics.transfer_matrices import Complex, Matrix, Real, find_wave
from analysis.keywork import HoleState


@dataclass(frozen=True, slots=True)
class ToneHoleSection:
    """A hole in SI units at its place in the bore; `pad_length_m` is 0 without a pad."""

    radius_m: float
    bore_radius_m: float
    chimney_m: float
    pad_length_m: float
    iris_radius_m: float
    iris_thickness_m: float

    @property
    def ratio(self) -> float:
        """Radius of the hole over radius of the bore."""
        return self.radius_m / self.bore_radius_m

    @property
    def matching_length_m(self) -> float:
        """Chimney length of equal volume to the saddle between hole and bore."""
        return self.radius_m * self.ratio * (1.0 + 0.207 * self.ratio**3) / 8.0


def find_hole_matrix(hole: ToneHoleSection, state: HoleState, *, omega: Real, air: Air) -> Matrix:
    """Find the transfer matrix of a hole in a given state.

    Args:
        hole: its measures.
        state: open, closed or shaded.
        omega: angular frequencies, rad/s, any shape; the entries have the same.
        air: constants of the air.
    """
    k0 = omega / air.sound_speed_m_s
    bore_impedance = air.density_kg_m3 * air.sound_speed_m_s / (math.pi * hole.bore_radius_m**2)
    series = 1j * bore_impedance * k0 * _series_length_m(hole, is_open=state is HoleState.OPEN)
    shunt = _find_shunt(hole, state, omega=omega, air=air)
    share = series / shunt
    middle = 1.0 + 0.5 * share
    return Matrix(middle, series * (1.0 + 0.25 * share), 1.0 / shunt, middle)


def _find_shunt(hole: ToneHoleSection, state: HoleState, *, omega: Real, air: Air) -> Complex:
    k0 = omega / air.sound_speed_m_s
    wave = find_wave(hole.radius_m, omega, air)
    inner = k0 * _inner_length_m(hole, k0)
    length = wave.number * (hole.chimney_m + hole.matching_length_m)
    if state is HoleState.CLOSED:
        return 1j * wave.impedance * (inner - 1.0 / np.tan(length))
    if state is HoleState.OPEN:
        end = find_unflanged_phase(k0, hole.radius_m) + k0 * hole.pad_length_m
    else:
        end = np.arctan(_find_iris(hole, omega=omega, air=air) / (1j * wave.impedance))
    return 1j * wave.impedance * (inner + np.tan(length + end))


def _find_iris(hole: ToneHoleSection, *, omega: Real, air: Air) -> Complex:
    k0 = omega / air.sound_speed_m_s
    radius = hole.iris_radius_m
    wave = find_wave(radius, omega, air)
    inner = 0.82 * radius * (1.0 - 1.25 * radius / hole.radius_m)
    length = wave.number * (hole.iris_thickness_m + max(inner, 0.0))
    return 1j * wave.impedance * np.tan(length + find_flanged_phase(k0, radius))


def _inner_length_m(hole: ToneHoleSection, k0: Real) -> Real:
    d = hole.ratio
    still = 0.822 - 0.095 * d - 1.566 * d**2 + 2.138 * d**3 - 1.640 * d**4 + 0.502 * d**5
    ka = k0 * hole.bore_radius_m
    rise = 0.17 * ka + 0.92 * ka**2 + 0.16 * ka**3 - 0.29 * ka**4
    return hole.radius_m * still * (1.0 + (1.0 - 4.56 * d + 6.55 * d**2) * rise)


def _series_length_m(hole: ToneHoleSection, *, is_open: bool) -> float:
    height = hole.chimney_m / hole.radius_m
    if is_open:
        share = -0.35 + 0.06 * math.tanh(2.7 * height)
    else:
        share = -0.12 - 0.17 * math.tanh(2.4 * height)
    return share * hole.radius_m * hole.ratio**2


def pad_length_m(
    *, radius_mm: float, pad_rim_mm: float, height_mm: float | None, rim_mm: float
) -> float:
    """Find the length that an open pad adds, in metres; 0 for a hole without one."""
    if height_mm is None:
        return 0.0
    return find_pad_length(
        hole_radius_m=radius_mm / 1000.0,
        pad_radius_m=(radius_mm + pad_rim_mm) / 1000.0,
        height_m=height_mm / 1000.0,
        rim_m=rim_mm / 1000.0,
    )
