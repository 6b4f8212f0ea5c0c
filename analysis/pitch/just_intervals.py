"""Just intervals: whole-number frequency ratios, their size in cents and their names.

The size is 1200 x log2(numerator / denominator). Names in the table are those in common use in
English, German, French, Italian or Spanish (common practice, from memory).
"""

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from analysis.pitch.errors import PitchOutOfRange, UnknownInterval

_MAX_TERM = 10_000


@dataclass(frozen=True, slots=True)
class JustInterval:
    """A frequency ratio, kept in lowest terms; below 1 it is a falling interval.

    Raises `PitchOutOfRange` unless both terms lie within 1 to 10,000.

    >>> round(JustInterval(5, 4).cents, 2), JustInterval(10, 8).name
    (386.31, 'major third')
    """

    numerator: int
    denominator: int

    def __post_init__(self) -> None:
        if not (1 <= self.numerator <= _MAX_TERM and 1 <= self.denominator <= _MAX_TERM):
            raise PitchOutOfRange(
                f"{self.numerator}:{self.denominator} is no interval. Both numbers must lie "
                f"between 1 and {_MAX_TERM}, as in 5:4."
            )
        divisor = math.gcd(self.numerator, self.denominator)
        object.__setattr__(self, "numerator", self.numerator // divisor)
        object.__setattr__(self, "denominator", self.denominator // divisor)

    @property
    def cents(self) -> float:
        """The size in cents; negative for a falling interval."""
        return 1200.0 * math.log2(self.numerator / self.denominator)

    @property
    def name(self) -> str:
        """The usual name ('major third', 'falling major third'), or the ratio where none is."""
        row = _ROWS_BY_INTERVAL.get(self)
        if row is not None:
            return row.names[0]
        row = _ROWS_BY_INTERVAL.get(self.inverted())
        return f"falling {row.names[0]}" if row else f"{self.numerator}:{self.denominator}"

    @property
    def staff_steps(self) -> int | None:
        """How many letters up (down if negative) the name leads, or None without a name."""
        row = _ROWS_BY_INTERVAL.get(self)
        if row is not None:
            return row.staff_steps
        row = _ROWS_BY_INTERVAL.get(self.inverted())
        return -row.staff_steps if row else None

    def inverted(self) -> "JustInterval":
        """Return the same interval in the other direction.

        >>> JustInterval(5, 4).inverted()
        JustInterval(numerator=4, denominator=5)
        """
        return JustInterval(self.denominator, self.numerator)


@dataclass(frozen=True, slots=True)
class _Row:
    interval: JustInterval
    staff_steps: int
    names: tuple[str, ...]


def _row(ratio: tuple[int, int], staff_steps: int, *names: str) -> _Row:
    return _Row(JustInterval(*ratio), staff_steps, names)


_ROWS = (
    _row((1, 1), 0, "unison", "Prime", "unisson"),
    _row((25, 24), 0, "chromatic semitone", "chromatischer Halbton", "demi-ton chromatique"),
    _row(
        (16, 15), 1, "minor second", "diatonic semitone", "kleine Sekunde", "seconde mineure"
    ),
    _row((10, 9), 1, "minor whole tone", "kleiner Ganzton", "petit ton", "ton mineur"),
    _row(
        (9, 8), 1, "major second", "major whole tone", "große Sekunde", "grosse Sekunde",
        "großer Ganzton", "seconde majeure", "ton majeur",
    ),
    _row((7, 6), 2, "septimal minor third", "septimale kleine Terz", "tierce mineure septimale"),
    _row((6, 5), 2, "minor third", "kleine Terz", "tierce mineure", "terza minore",
         "tercera menor"),
    _row((11, 9), 2, "undecimal neutral third", "neutral third", "neutrale Terz",
         "tierce neutre"),
    _row((5, 4), 2, "major third", "große Terz", "grosse Terz", "tierce majeure",
         "terza maggiore", "tercera mayor"),
    _row((9, 7), 2, "septimal major third", "septimale große Terz", "tierce majeure septimale"),
    _row((4, 3), 3, "perfect fourth", "fourth", "reine Quarte", "Quarte", "quarte juste",
         "quarta giusta", "cuarta justa"),
    _row((11, 8), 3, "undecimal fourth", "eleventh harmonic", "elfter Naturton",
         "onzième harmonique"),
    _row((7, 5), 4, "septimal tritone", "septimaler Tritonus", "triton septimal"),
    _row((45, 32), 3, "augmented fourth", "übermäßige Quarte", "quarte augmentée"),
    _row((64, 45), 4, "diminished fifth", "verminderte Quinte", "quinte diminuée"),
    _row((3, 2), 4, "perfect fifth", "fifth", "reine Quinte", "Quinte", "quinte juste",
         "quinta giusta", "quinta justa"),
    _row((8, 5), 5, "minor sixth", "kleine Sexte", "sixte mineure", "sesta minore",
         "sexta menor"),
    _row((13, 8), 5, "tridecimal neutral sixth", "thirteenth harmonic", "neutral sixth",
         "neutrale Sexte", "sixte neutre"),
    _row((5, 3), 5, "major sixth", "große Sexte", "grosse Sexte", "sixte majeure",
         "sesta maggiore", "sexta mayor"),
    _row((7, 4), 6, "harmonic seventh", "septimal minor seventh", "seventh harmonic",
         "Naturseptime", "septième harmonique"),
    _row((16, 9), 6, "pythagorean minor seventh", "pythagoreische kleine Septime"),
    _row((9, 5), 6, "minor seventh", "kleine Septime", "septième mineure", "settima minore",
         "séptima menor"),
    _row((15, 8), 6, "major seventh", "große Septime", "grosse Septime", "septième majeure",
         "settima maggiore", "séptima mayor"),
    _row((2, 1), 7, "octave", "Oktave", "ottava", "octava"),
    _row((5, 2), 9, "major tenth", "große Dezime", "grosse Dezime", "dixième majeure"),
    _row((3, 1), 11, "perfect twelfth", "twelfth", "reine Duodezime", "Duodezime", "douzième"),
)  # fmt: skip

_ROWS_BY_INTERVAL: Mapping[JustInterval, _Row] = MappingProxyType(
    {row.interval: row for row in _ROWS}
)

JUST_INTERVALS: tuple[JustInterval, ...] = tuple(row.interval for row in _ROWS)

_RATIO = re.compile(r"([0-9]{1,5}) ?[:/] ?([0-9]{1,5})")
_LEADING_WORDS = re.compile(r"^(?:(?:a|an|the|ein|eine|une?|una|la|just|pure|reiner?) )+")


def _normalise(text: str) -> str:
    decomposed = unicodedata.normalize("NFD", text.casefold())
    letters = "".join(mark for mark in decomposed if not unicodedata.combining(mark))
    return " ".join(letters.replace("-", " ").split())


_BY_NAME: Mapping[str, JustInterval] = MappingProxyType(
    {_normalise(name): row.interval for row in _ROWS for name in row.names}
)


def find_just_interval(text: str) -> JustInterval:
    """Find an interval by its ratio ('5:4', '5/4') or its name ('major third', 'große Terz').

    An article and the words "just" or "pure" before it make no difference. Raises
    `UnknownInterval` with what is accepted.

    >>> find_just_interval("a just minor third")
    JustInterval(numerator=6, denominator=5)
    """
    wanted = _normalise(text)
    ratio = _RATIO.fullmatch(wanted)
    if ratio is not None:
        return JustInterval(int(ratio[1]), int(ratio[2]))
    interval = _BY_NAME.get(wanted) or _BY_NAME.get(_LEADING_WORDS.sub("", wanted))
    if interval is None:
        names = ", ".join(row.names[0] for row in _ROWS)
        raise UnknownInterval(
            f"'{text}' is no interval known here. Write a ratio such as 5:4, or one of: {names}."
        )
    return interval


def names_of_degree(word: str) -> tuple[str, ...]:
    """Return the plain interval names a bare degree can mean, in the language of the word.

    Empty if the word is no degree.

    >>> names_of_degree("third")
    ('minor third', 'neutral third', 'major third')
    """
    wanted = _LEADING_WORDS.sub("", _normalise(word))
    found: dict[JustInterval, str] = {}
    for row in _ROWS:
        for name in row.names:
            words = _normalise(name).split()
            if wanted in words and len(words) == 2:
                found.setdefault(row.interval, name)
    return tuple(found.values())
