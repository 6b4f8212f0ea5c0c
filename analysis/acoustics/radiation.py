"""Radiation impedance (end correction) of open ends, unflanged and flanged, and of pads.

An open end is given as a complex phase: the impedance of an end is j Z tan(phase), where Z is the
characteristic impedance of the tube at that radius. So a tube of length L before the end
adds k L to the phase, and a pad adds k times its length.

Sources: unflanged, the fit of Dalmont, Nederveen & Joly, J. Sound Vib. 244 (2001) 505-534, to
Levine & Schwinger, Phys. Rev. 73 (1948) 383-406; flanged, Norris & Sheng, J. Sound Vib. 135 (1989)
85-93; pad, Dalmont, Nederveen & Joly (2001) eq. 48. Valid for k x radius < 3.5 (flanged,
modulus of both) and < 1.5 (length of the unflanged end): resonances go up to about 1.5 at the bell.
Harmonics of high notes go beyond 3.5, where an end reflects a tenth and less: from there on modulus
and length are held, since the fits turn to what no end can do.
"""

from __future__ import annotations

import numpy as np

from analysis.acoustics.transfer_matrices import Complex, Real

HIGHEST_FITTED_KA = 3.5


def find_unflanged_phase(wavenumber_per_m: Real, radius_m: float) -> Complex:
    """Find the phase of a thin-walled open end.

    Args:
        wavenumber_per_m: real wave numbers in free air, rad/m, any shape.
        radius_m: radius of the opening.

    >>> phase = find_unflanged_phase(np.array([1.0]), 0.01)
    >>> round(float(phase.real[0]) / 0.01, 3)
    0.613
    """
    turn = wavenumber_per_m * radius_m
    ka = np.minimum(turn, HIGHEST_FITTED_KA)
    square = ka**2
    modulus = (1.0 + 0.2 * ka - 0.084 * square) / (1.0 + 0.2 * ka + 0.416 * square)
    length = 0.6133 * ((1.0 + 0.044 * square) / (1.0 + 0.19 * square) - 0.02 * np.sin(2 * ka) ** 2)
    return _phase(turn * length, modulus)


def find_flanged_phase(wavenumber_per_m: Real, radius_m: float) -> Complex:
    """Find the phase of an opening in a wide wall; arguments as for `find_unflanged_phase`.

    Returns the shape of `wavenumber_per_m`.
    """
    turn = wavenumber_per_m * radius_m
    ka = np.minimum(turn, HIGHEST_FITTED_KA)
    modulus = (1.0 + 0.323 * ka - 0.077 * ka**2) / (1.0 + 0.323 * ka + 0.923 * ka**2)
    length = 0.8216 / (1.0 + (0.77 * ka) ** 2 / (1.0 + 0.77 * ka))
    return _phase(turn * length, modulus)


def find_pad_length(
    *, hole_radius_m: float, pad_radius_m: float, height_m: float, rim_m: float
) -> float:
    """Find how much longer a pad hanging over a hole makes it, in metres.

    Args:
        hole_radius_m: radius of the hole.
        pad_radius_m: radius of the pad, at least that of the hole.
        height_m: height of the open pad above the hole's edge.
        rim_m: thickness of the hole's edge under the pad.
    """
    height = height_m / hole_radius_m
    under_edge = 3.5 * height**0.8 * (height + 3.0 * rim_m / hole_radius_m) ** -0.4
    return float(hole_radius_m / (under_edge + 30.0 * (height_m / pad_radius_m) ** 2.6))


def _phase(turn: Real, modulus: Real) -> Complex:
    # The reflection coefficient is -modulus exp(-2j turn) = -exp(-2j phase).
    return turn + 0.5j * np.log(modulus)
