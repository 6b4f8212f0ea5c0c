"""Spectral envelope of a fingering: the input impedance at the harmonics of its note.

The reed is driven by the pressure that the tube gives back, so what a fingering favours among the
harmonics is part of its colour (Benade, Fundamentals of Musical Acoustics, 1976, chapter 21;
Chaigne & Kergomard 2016, chapter 9). The spectrum of a tone also depends on the reed, the mouth and
the loudness: levels tell fingerings apart, they are no spectrum.
"""

from __future__ import annotations

import numpy as np

from analysis.acoustics.resonances import find_omega
from analysis.acoustics.transfer_matrices import Real
from analysis.acoustics.tube_model import States, TubeModel

# The second to the eighth harmonic: above it the tube of a clarinet is open to nearly all.
HARMONICS = np.arange(2, 9)


def find_envelope(model: TubeModel, states: States, sounding_cents: Real) -> Real:
    """Find the impedance at harmonics over that at the fundamental.

    Args:
        model: the tube in its air.
        states: shape (n, holes), codes of `HOLE_STATES`.
        sounding_cents: of the note that each plays, A4 = 6900, shape (n,).

    Returns:
        Levels in dB of the harmonics `HARMONICS`, shape (n, 7).
    """
    numbers = np.concatenate([[1.0], HARMONICS])
    cents = sounding_cents[:, np.newaxis] + 1200.0 * np.log2(numbers)
    admittance = model.find_input_admittance(states[:, np.newaxis], find_omega(cents))
    levels = -20.0 * np.log10(np.abs(admittance))
    return np.asarray(levels[:, 1:] - levels[:, :1])


def find_envelope_distance(levels: Real, reference: Real) -> Real:
    """Find how far envelopes are from a reference: the root mean square over harmonics, in dB.

    `levels` of shape (n, harmonics), `reference` of shape (harmonics,), in dB; returns shape (n,).

    >>> find_envelope_distance(np.array([[3.0, -3.0], [0.0, 0.0]]), np.zeros(2)).tolist()
    [3.0, 0.0]
    """
    return np.asarray(np.sqrt(np.mean((levels - reference) ** 2, axis=1)))
