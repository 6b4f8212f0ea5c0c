"""Transfer matrices of the bore (plane waves): cylinders and cones with losses at the wall.

Conventions: time goes as exp(+j w t); pressure and volume flow at the upper end of a piece follow
from those at its lower end, (p, U)_upper = M (p, U)_lower. Lengths in metres, angular frequency
in rad/s; every function works on arrays of frequencies of any shape.

Sources: losses, Zwikker & Kosten, Sound Absorbing Materials (1949), the series impedance and shunt
admittance per length of a round tube, as in Chaigne & Kergomard, Acoustics of Musical Instruments
(2016), chapter 5; the ratio of Bessel functions by its series for wide tubes (Abramowitz & Stegun
1964, 9.7.1), which contains Keefe, J. Acoust. Soc. Am. 75 (1984) 58-62; cone matrix, Chaigne &
Kergomard, chapter 7, for the lossless cone, with the complex wave number put in. Valid from 2
boundary layers of radius upwards, for plane waves and slender cones; the wall's mean effect
on a cone is that of the logarithmic mean of its end radii, since losses go with 1/radius.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.acoustics.air import Air

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]

# I1(w) / I0(w) = 1 + sum of these / w^n for large |w|; from the two series of Abramowitz & Stegun
# 9.7.1 by division.
_BESSEL_RATIO = (-1 / 2, -1 / 8, -1 / 8, -25 / 128, -13 / 32, -1073 / 1024)


class Matrix(NamedTuple):
    """The four entries of a transfer matrix; each an array over frequency, all of one shape."""

    a: Complex
    b: Complex
    c: Complex
    d: Complex

    def admittance(self, below: Complex) -> Complex:
        """Find the admittance at the upper end from the one at the lower end."""
        return (self.c + self.d * below) / (self.a + self.b * below)

    def apply(self, pressure: Complex, flow: Complex) -> tuple[Complex, Complex]:
        """Find pressure and flow at the upper end from those at the lower end."""
        return self.a * pressure + self.b * flow, self.c * pressure + self.d * flow

    def times(self, below: Matrix) -> Matrix:
        """Join a further piece below this one."""
        return Matrix(
            self.a * below.a + self.b * below.c,
            self.a * below.b + self.b * below.d,
            self.c * below.a + self.d * below.c,
            self.c * below.b + self.d * below.d,
        )


class Wave(NamedTuple):
    """How plane waves travel in a tube: complex wave number and characteristic impedance."""

    number: Complex
    impedance: Complex


def find_wave(radius_m: float, omega: Real, air: Air) -> Wave:
    """Find wave number and characteristic impedance of a round tube with wall losses.

    Args:
        radius_m: radius of the tube.
        omega: angular frequencies, rad/s, above 0, any shape; both results have the same.
        air: constants of the air.

    >>> from analysis.acoustics.air import find_air
    >>> wave = find_wave(0.0075, np.array([2 * np.pi * 200]), find_air())
    >>> bool(wave.number.real[0] > 2 * np.pi * 200 / 347) and bool(wave.number.imag[0] < 0)
    True
    """
    area = math.pi * radius_m**2
    root = np.sqrt(1j * omega / air.sound_speed_m_s) * radius_m
    viscous = _wall_share(root / math.sqrt(air.viscous_length_m))
    thermal = _wall_share(root / math.sqrt(air.thermal_length_m))
    series = 1j * omega * air.density_kg_m3 / (area * (1.0 - viscous))
    stiffness = air.density_kg_m3 * air.sound_speed_m_s**2
    shunt = 1j * omega * area / stiffness * (1.0 + (air.heat_ratio - 1.0) * thermal)
    growth = np.sqrt(series * shunt)
    return Wave(-1j * growth, growth / shunt)


def _wall_share(w: Complex) -> Complex:
    """2 I1(w) / (w I0(w)): the share of the cross-section that the boundary layer takes."""
    inverse = 1.0 / w
    total = np.zeros_like(inverse)
    for coefficient in reversed(_BESSEL_RATIO):
        total = (total + coefficient) * inverse
    return 2.0 * inverse * (1.0 + total)


def find_cone_matrix(
    upper_radius_m: float,
    lower_radius_m: float,
    length_m: float,
    *,
    omega: Real,
    air: Air,
    waves: dict[float, Wave] | None = None,
) -> Matrix:
    """Find the transfer matrix of a cone, or of a cylinder if both radii are equal.

    Args:
        upper_radius_m: radius at the upper end.
        lower_radius_m: radius at the lower end.
        length_m: length along the axis, at least 0.
        omega: angular frequencies, rad/s, above 0, any shape; the entries have the same.
        air: constants of the air.
        waves: by their radius in metres those found before at these frequencies; filled further.
    """
    mean_m = _log_mean(upper_radius_m, lower_radius_m)
    waves = {} if waves is None else waves
    if mean_m not in waves:
        waves[mean_m] = find_wave(mean_m, omega, air)
    wave = waves[mean_m]
    # A cone's impedance goes with the product of its end radii, not with a mean area.
    impedance = wave.impedance * mean_m**2 / (upper_radius_m * lower_radius_m)
    k, phase = wave.number, wave.number * length_m
    cos, sin = np.cos(phase), np.sin(phase)
    slope = (lower_radius_m - upper_radius_m) / length_m if length_m > 0 else 0.0
    upper, lower = slope / upper_radius_m, slope / lower_radius_m
    return Matrix(
        lower_radius_m / upper_radius_m * cos - upper / k * sin,
        1j * impedance * sin,
        1j / impedance * ((1.0 + upper * lower / k**2) * sin - (upper - lower) / k * cos),
        upper_radius_m / lower_radius_m * cos + lower / k * sin,
    )


def _log_mean(first: float, second: float) -> float:
    ratio = second / first
    # Below this the quotient loses digits; its limit is the geometric mean.
    if abs(ratio - 1.0) < 1e-6:
        return math.sqrt(first * second)
    return (second - first) / math.log(ratio)
