"""Options for the naming of pitches: language, spelling; and the seven letters.

Octaves are scientific in every language here: A4 is the tuning note and the octave number changes
at C. (Part of the French tradition counts one lower; that count is not used.)
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

LETTERS = "CDEFGAB"

# Height of the natural notes above C in 12 equal semitones, in cents.
NATURAL_CENTS: Mapping[str, int] = MappingProxyType(
    {"C": 0, "D": 200, "E": 400, "F": 500, "G": 700, "A": 900, "B": 1100}
)


class NoteNames(StrEnum):
    """The language that note names are read and shown in."""

    ENGLISH = "english"
    GERMAN = "german"
    ROMANCE = "romance"


class Side(StrEnum):
    """Which of the possible names a pitch gets.

    SHARP raises the lower neighbour, FLAT lowers the upper one. NEAREST takes the usual name:
    C# Eb F# G# Bb, and a quarter tone from the natural note beside it.
    """

    SHARP = "sharp"
    FLAT = "flat"
    NEAREST = "nearest"
