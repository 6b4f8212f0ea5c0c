"""Written pitch: what stands on the page of one instrument.

A written pitch is a letter, an alteration and an octave. The alteration is an exact fraction of a
cent, so no name, step or text form ever loses anything. Heights are in written cents with C4 = 6000
and A4 = 6900, that is 100 times the MIDI note number of the written note.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Self

from analysis.pitch.errors import PitchOutOfRange, UnreadablePitch
from analysis.pitch.height_order import HeightOrder, require_same_kind
from analysis.pitch.names import LETTERS, NATURAL_CENTS, Side

MAX_ALTER_CENTS = 250
MAX_OCTAVE = 9

# The largest alteration that still counts as one of the possible names of a pitch.
MAX_USUAL_ALTER_CENTS = 150
# As a denominator, for `to_be_read`.
_FINEST_READ = 10

_STEP_NAMES = {
    Side.SHARP: ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"),
    Side.FLAT: ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"),
    Side.NEAREST: ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"),
}
_SEMITONE_SIGNS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_SEMITONES = {sign: semitones for semitones, sign in _SEMITONE_SIGNS.items()}
_CANONICAL = re.compile(
    r"(?P<letter>[A-G])(?P<sign>b{0,2}|#{0,2})(?P<octave>[0-9])"
    r"(?:(?P<cents>[+-][0-9]+(?:/[1-9][0-9]*)?)c)?"
    r"(?:~(?P<spelled>-?[0-9]+(?:/[1-9][0-9]*)?))?",
    re.ASCII,
)


def split_alter(alter_cents: Fraction) -> tuple[int, Fraction]:
    """Split an alteration into -2..2 semitones and the remaining cents.

    The nearest semitone is taken; halfway, the one nearer to the natural, so that a quarter tone
    is counted from the natural note.

    >>> split_alter(Fraction(-50)), split_alter(Fraction(125))
    ((0, Fraction(-50, 1)), (1, Fraction(25, 1)))
    """
    semitones = math.ceil(abs(alter_cents) / 100 - Fraction(1, 2))
    signed = min(semitones, 2) * (1 if alter_cents > 0 else -1)
    return signed, alter_cents - 100 * signed


@dataclass(frozen=True, slots=True, eq=False)
class WrittenPitch(HeightOrder):
    """A note as it stands on the page.

    `letter` is 'A' to 'G', `alter_cents` the exact alteration from the natural note in cents
    (-250 to 250), `octave` the scientific octave of the letter (0 to 9).

    `sign_cents` is the sign the player spelled it with, in cents from the natural, where a rest
    was written beside it; None leaves the sign to the system of signs.

    Two written pitches are equal if letter, alteration and octave are; `<` and `>` compare heights,
    so C#5 and Db5 are neither equal nor one above the other. Raises `PitchOutOfRange` outside the
    limits.

    >>> WrittenPitch("D", Fraction(-50), 5).canonical
    'D5-50c'
    """

    letter: str
    alter_cents: Fraction
    octave: int
    sign_cents: Fraction | None = None

    def __post_init__(self) -> None:
        if self.letter not in NATURAL_CENTS:
            raise PitchOutOfRange(f"There is no note letter '{self.letter}'. Use one of A to G.")
        if not 0 <= self.octave <= MAX_OCTAVE:
            raise PitchOutOfRange(
                f"Octave {self.octave} cannot be written here. Octaves run from 0 to {MAX_OCTAVE}; "
                "middle C is C4."
            )
        # An int or float slips in easily from code that is not type-checked; keep the field exact.
        object.__setattr__(self, "alter_cents", Fraction(self.alter_cents))
        if abs(self.alter_cents) > MAX_ALTER_CENTS:
            raise PitchOutOfRange(
                f"{self.letter}{self.octave} cannot be altered by {float(self.alter_cents):g} "
                f"cents. At most {MAX_ALTER_CENTS} cents are possible; use another note name."
            )

    @property
    def cents(self) -> Fraction:
        """The exact height in written cents: C4 = 6000, A4 = 6900."""
        return 1200 * (self.octave + 1) + NATURAL_CENTS[self.letter] + self.alter_cents

    @property
    def canonical(self) -> str:
        """The exact text form by which a note is known; `from_canonical` reads it back."""
        semitones, rest_cents = split_alter(self.alter_cents)
        rest = f"{'+' if rest_cents > 0 else ''}{rest_cents}c" if rest_cents else ""
        return f"{self.letter}{_SEMITONE_SIGNS[semitones]}{self.octave}{rest}"

    @property
    def kept_text(self) -> str:
        """The canonical text, followed by the sign the player spelled it with, for storage.

        >>> WrittenPitch("F", Fraction(70), 5, Fraction(100)).kept_text
        'F#5-30c~100'
        """
        if self.sign_cents is None:
            return self.canonical
        return f"{self.canonical}~{self.sign_cents}"

    @property
    def asking_text(self) -> str:
        """The shortest text that `parse_pitch` reads as this note with its sign: canonical mostly.

        >>> WrittenPitch("F", Fraction(70), 5, Fraction(100)).asking_text
        'F#5-30c'
        >>> WrittenPitch("F", Fraction(70), 5, Fraction(50)).asking_text
        'F#5-30c~50'
        """
        usual_cents = 100 * split_alter(self.alter_cents)[0]
        return self.canonical if self.sign_cents in (None, usual_cents) else self.kept_text

    @classmethod
    def from_canonical(cls, text: str) -> Self:
        """Read the text forms that `canonical` and `kept_text` write.

        Raises `UnreadablePitch` for anything else: what players type goes through `parse_pitch`.

        >>> WrittenPitch.from_canonical("D5+50/3c").alter_cents
        Fraction(50, 3)
        """
        match = _CANONICAL.fullmatch(text)
        if match is None:
            raise UnreadablePitch(
                f"'{text}' is not a stored pitch. Stored pitches look like D5, Bb4 or D5-50c.",
                text=text,
                position=0,
            )
        alter_cents = 100 * _SEMITONES[match["sign"]] + Fraction(match["cents"] or 0)
        spelled = Fraction(match["spelled"]) if match["spelled"] else None
        return cls(match["letter"], alter_cents, int(match["octave"]), spelled)

    @classmethod
    def from_cents(cls, cents: Fraction | float, side: Side = Side.NEAREST) -> Self:
        """Name a height in written cents (A4 = 6900).

        The nearest semitone step gives the name and the rest stays in the alteration. A height
        halfway between two steps takes the lower on the SHARP side, the upper on the FLAT side,
        and the natural note of the two for NEAREST (the lower where both are natural). A float is
        first rounded to 0.001 cent; fractions and integers stay exact. Raises `PitchOutOfRange`
        outside octaves 0 to 9.

        >>> WrittenPitch.from_cents(7350).canonical
        'D5-50c'
        >>> WrittenPitch.from_cents(7350, Side.SHARP).canonical
        'C#5+50c'
        """
        exact = round_to_millicent(cents) if isinstance(cents, float) else Fraction(cents)
        step = _nearest_step(exact, side)
        name = _STEP_NAMES[side][step % 12]
        semitones = _SEMITONES[name[1:]]
        return cls(name[0], exact - 100 * step + 100 * semitones, step // 12 - 1)

    def respelled(self, side: Side) -> Self:
        """Return the same height under the name of that side.

        >>> WrittenPitch.from_canonical("C#5").respelled(Side.FLAT).canonical
        'Db5'
        """
        return self.from_cents(self.cents, side)

    def spellings(self) -> tuple[Self, ...]:
        """Return every possible name of this height, the usual one first.

        A name is possible if it alters its letter by 150 cents at most; this pitch's own name is
        always among them.

        >>> [pitch.canonical for pitch in WrittenPitch.from_canonical("D5-50c").spellings()]
        ['D5-50c', 'C#5+50c']
        """
        usual = self.respelled(Side.NEAREST)
        others = sorted(self._names_by_letter(), key=lambda pitch: abs(pitch.alter_cents))
        return tuple(dict.fromkeys((usual, *others, self)))

    def raised_by(self, cents: Fraction | int) -> Self:
        """Return the pitch that many cents higher (lower if negative), on the same letter.

        Raises `PitchOutOfRange` if the letter would be altered by more than 250 cents.

        >>> WrittenPitch.from_canonical("C#5").raised_by(50).canonical
        'C#5+50c'
        """
        return type(self)(self.letter, self.alter_cents + cents, self.octave)

    def to_be_read(self) -> Self:
        """Return the pitch as a page names it: no finer than a tenth of a cent, thirds kept whole.

        A just interval has cents without end, stored to a thousandth; nobody plays or reads them.

        >>> WrittenPitch.from_canonical("A4-6843/500c").to_be_read().canonical
        'A4-137/10c'
        >>> WrittenPitch.from_canonical("D5+50/3c").to_be_read().canonical
        'D5+50/3c'
        """
        if self.alter_cents.denominator <= _FINEST_READ:
            return self
        tenths = round(self.alter_cents * _FINEST_READ)
        return replace(self, alter_cents=Fraction(tenths, _FINEST_READ))

    def interval_to(self, other: Self) -> Fraction:
        """Return how many cents `other` lies above this pitch (negative if below).

        >>> c_sharp = WrittenPitch.from_canonical("C#5")
        >>> c_sharp.interval_to(WrittenPitch.from_canonical("D5-50c"))
        Fraction(50, 1)
        """
        return require_same_kind(self, other).cents - self.cents

    def __sub__(self, other: Self) -> Fraction:
        return self.cents - require_same_kind(self, other).cents

    def __hash__(self) -> int:
        # as that of any pitch, without the modular inverse that hashing a fraction takes
        return hash((type(self), self.letter, *self.alter_cents.as_integer_ratio(), self.octave))

    def _identity(self) -> tuple[str, Fraction, int]:
        return self.letter, self.alter_cents, self.octave

    def _height_cents(self) -> Fraction:
        return self.cents

    def _names_by_letter(self) -> Iterator[Self]:
        for letter in LETTERS:
            above_c_cents = self.cents - NATURAL_CENTS[letter]
            octave = math.floor(above_c_cents / 1200 + Fraction(1, 2)) - 1
            alter_cents = above_c_cents - 1200 * (octave + 1)
            if abs(alter_cents) <= MAX_USUAL_ALTER_CENTS and 0 <= octave <= MAX_OCTAVE:
                yield type(self)(letter, alter_cents, octave)


def round_to_millicent(cents: float) -> Fraction:
    """Round a measured or computed height to 0.001 cent, exactly.

    Raises `PitchOutOfRange` for infinity and NaN.

    >>> round_to_millicent(386.313714)
    Fraction(193157, 500)
    """
    if not math.isfinite(cents):
        raise PitchOutOfRange(f"A height of {cents} cents is no pitch. Give a finite number.")
    return Fraction(round(cents * 1000), 1000)


def _nearest_step(cents: Fraction, side: Side) -> int:
    """Return the semitone step (C4 = 60) that names a height, halves decided by the side."""
    below, rest_cents = divmod(cents, 100)
    if rest_cents != 50:
        return below + (1 if rest_cents > 50 else 0)
    is_lower_natural = len(_STEP_NAMES[Side.NEAREST][below % 12]) == 1
    takes_lower = side is Side.SHARP or (side is Side.NEAREST and is_lower_natural)
    return below if takes_lower else below + 1
