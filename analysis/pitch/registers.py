"""The registers of the clarinet, in written pitch and treble notation.

Chalumeau E3 to F#4, throat G4 to Bb4, clarion B4 to C6, altissimo from C#6, and below E3 the
extension of the lower instruments (common practice, from memory). A microtone belongs to the
register of the semitone step nearest to it, and one halfway between two steps to the upper.
For bass-clef parts use `InstrumentKind.in_treble_notation` first.
"""

from bisect import bisect_right
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from analysis.pitch.written import WrittenPitch


class Register(StrEnum):
    """A register of the clarinet, from low to high."""

    EXTENSION = "extension"
    CHALUMEAU = "chalumeau"
    THROAT = "throat"
    CLARION = "clarion"
    ALTISSIMO = "altissimo"


# Where each register begins: 50 cents below its lowest note, so below E3, G4, B4 and C#6. The
# extension begins and the altissimo ends beyond anything that can be written.
_STARTS = {
    Register.EXTENSION: Fraction(0),
    Register.CHALUMEAU: Fraction(5150),
    Register.THROAT: Fraction(6650),
    Register.CLARION: Fraction(7050),
    Register.ALTISSIMO: Fraction(8450),
}
_END = Fraction(14400)


def register_bounds(register: Register) -> tuple[Fraction, Fraction]:
    """Return the written cents where a register begins (included) and ends (excluded).

    >>> register_bounds(Register.THROAT)
    (Fraction(6650, 1), Fraction(7050, 1))
    """
    starts = [*_STARTS.values(), _END]
    index = list(_STARTS).index(register)
    return starts[index], starts[index + 1]


@lru_cache(maxsize=4096)
def register_of(written: WrittenPitch) -> Register:
    """Return the register a written pitch lies in.

    >>> str(register_of(WrittenPitch.from_canonical("D5-50c")))
    'clarion'
    """
    begun = bisect_right(list(_STARTS.values()), written.cents)
    return list(_STARTS)[begun - 1]
