"""Sign systems: which sign means which size in cents.

A system is a choice of the player, since scores differ. All sizes are counted in cents from the
natural note in equal temperament, and a legend tells them. Arrows, stroked and filled flats mean
what the score in hand says, so their sizes are part of the system and can be changed.

Sizes. Quarter, eighth, sixth and twelfth tones: 200 cents divided by 4, 8, 6 and 12. The just
commas are 1200 log2 of 81/80, 64/63, 33/32 and 27/26, the sizes that the Helmholtz-Ellis notation
gives to its signs, rounded to 0.001 cent as every just interval is here. The notation counts them
from a chain of pure fifths; here they are counted from the equal-tempered note, as a player with a
tuner reads them, and the legend says so.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from analysis.pitch import signs
from analysis.pitch.errors import UnknownSignSystem
from analysis.pitch.signs import Sign

_TONE_CENTS = 200
_SMALLEST_CENTS, _LARGEST_ARROW_CENTS, _LOWEST_FLAT_CENTS = 1, 150, -200


class SystemId(StrEnum):
    """The kinds of system there are."""

    STEIN_ZIMMERMANN = "stein-zimmermann"
    ARROWS_QUARTER = "arrows-quarter"
    ARROWS_EIGHTH = "arrows"
    ARROWS_SIXTH = "arrows-sixth"
    ARROWS_DOUBLE = "arrows-double"
    ARROWS_OWN = "arrows-own"
    HELMHOLTZ_ELLIS = "helmholtz-ellis"
    TWELFTH_TONES = "twelfth-tones"
    FIGURES = "figures"
    JUST = "just"

    @property
    def words(self) -> str:
        """What a player calls it."""
        return _WORDS[self]

    @property
    def has_arrows_to_size(self) -> bool:
        """Whether the player says how much an arrow is."""
        return self in {SystemId.ARROWS_OWN, SystemId.ARROWS_DOUBLE}

    @property
    def has_flats_to_size(self) -> bool:
        """Whether stroked and filled flats can be given a size."""
        return self in {SystemId.STEIN_ZIMMERMANN, SystemId.ARROWS_EIGHTH}


_WORDS: Mapping[SystemId, str] = MappingProxyType(
    {
        SystemId.STEIN_ZIMMERMANN: "Reversed flats and stroked sharps: quarter tones",
        SystemId.ARROWS_QUARTER: "Arrows: quarter tones",
        SystemId.ARROWS_EIGHTH: "Arrows: eighth tones, with reversed and stroked signs",
        SystemId.ARROWS_SIXTH: "Arrows: sixth tones",
        SystemId.ARROWS_DOUBLE: "Arrows and double arrows, sizes as typed below",
        SystemId.ARROWS_OWN: "Arrows of the size typed below",
        SystemId.HELMHOLTZ_ELLIS: "Helmholtz-Ellis signs: just commas",
        SystemId.TWELFTH_TONES: "Twelfth-tone signs, with reversed and stroked signs",
        SystemId.FIGURES: "Ordinary signs with cents",
        SystemId.JUST: "Ordinary signs with the just interval",
    }
)
_ARROW_CENTS: Mapping[SystemId, Fraction] = MappingProxyType(
    {
        SystemId.ARROWS_QUARTER: Fraction(_TONE_CENTS, 4),
        SystemId.ARROWS_EIGHTH: Fraction(_TONE_CENTS, 8),
        SystemId.ARROWS_SIXTH: Fraction(_TONE_CENTS, 6),
        SystemId.ARROWS_DOUBLE: Fraction(_TONE_CENTS, 12),
        SystemId.ARROWS_OWN: Fraction(43, 2),
    }
)
_DOUBLE_ARROW_CENTS = Fraction(_TONE_CENTS, 6)

SizedSigns = tuple[tuple[Sign, Fraction], ...]

_BASES = ((signs.NATURAL, 0), (signs.SHARP, 100), (signs.FLAT, -100))
_STANDARD: SizedSigns = (
    *((sign, Fraction(cents)) for sign, cents in _BASES),
    (signs.DOUBLE_SHARP, Fraction(200)),
    (signs.DOUBLE_FLAT, Fraction(-200)),
)
_QUARTER_TONES: SizedSigns = (
    (signs.QUARTER_SHARP, Fraction(50)),
    (signs.QUARTER_FLAT, Fraction(-50)),
    (signs.THREE_QUARTERS_SHARP, Fraction(150)),
    (signs.THREE_QUARTERS_FLAT, Fraction(-150)),
)
_ARROWS = (
    (signs.NATURAL_UP, signs.NATURAL_DOWN),
    (signs.SHARP_UP, signs.SHARP_DOWN),
    (signs.FLAT_UP, signs.FLAT_DOWN),
)
_DOUBLE_ARROWS = (
    (signs.NATURAL_TWO_UP, signs.NATURAL_TWO_DOWN),
    (signs.SHARP_TWO_UP, signs.SHARP_TWO_DOWN),
    (signs.FLAT_TWO_UP, signs.FLAT_TWO_DOWN),
)
_COMMA_ARROWS = (
    (signs.NATURAL_COMMA_UP, signs.NATURAL_COMMA_DOWN),
    (signs.SHARP_COMMA_UP, signs.SHARP_COMMA_DOWN),
    (signs.FLAT_COMMA_UP, signs.FLAT_COMMA_DOWN),
)
SYNTONIC_COMMA_CENTS = Fraction(21_506, 1000)
_COMMAS = (
    (signs.SEPTIMAL_RAISE, signs.SEPTIMAL_LOWER, Fraction(27_264, 1000)),
    (signs.UNDECIMAL_RAISE, signs.UNDECIMAL_LOWER, Fraction(53_273, 1000)),
    (signs.TRIDECIMAL_RAISE, signs.TRIDECIMAL_LOWER, Fraction(65_337, 1000)),
)
_TWELFTHS = (
    (signs.TWELFTH_UP, signs.TWELFTH_DOWN, Fraction(_TONE_CENTS, 12)),
    (signs.SIXTH_UP, signs.SIXTH_DOWN, Fraction(_TONE_CENTS, 6)),
)
_KEYS = ("arrow", "double", "stroked", "filled")


@dataclass(frozen=True, slots=True)
class SignSystem:
    """One system with its sizes, all in cents.

    `arrow_cents` and `double_arrow_cents` (above 0 to 150) matter for arrows of the player's own
    size, `stroked_flat_cents` and `filled_flat_cents` (-200 to below 0) where there are reversed
    and stroked signs; None leaves them at what is usual, the flats out. Raises `UnknownSignSystem`
    for a size out of its range.

    >>> SignSystem(SystemId.ARROWS_OWN, arrow_cents=Fraction(33)).text
    'arrows-own arrow=33'
    """

    id: SystemId = SystemId.STEIN_ZIMMERMANN
    arrow_cents: Fraction | None = None
    double_arrow_cents: Fraction | None = None
    stroked_flat_cents: Fraction | None = None
    filled_flat_cents: Fraction | None = None

    def __post_init__(self) -> None:
        for name, size in (("An arrow", self.arrow_cents), ("Two", self.double_arrow_cents)):
            if size is not None and not _SMALLEST_CENTS <= size <= _LARGEST_ARROW_CENTS:
                raise UnknownSignSystem(
                    f"{name} of {float(size):g} cents cannot be told from other signs. "
                    f"Give {_SMALLEST_CENTS} to {_LARGEST_ARROW_CENTS} cents."
                )
        for size in (self.stroked_flat_cents, self.filled_flat_cents):
            if size is not None and not _LOWEST_FLAT_CENTS <= size <= -_SMALLEST_CENTS:
                raise UnknownSignSystem(
                    f"A flat of {float(size):g} cents was given. A stroked or filled flat lowers: "
                    f"give {_LOWEST_FLAT_CENTS} to -{_SMALLEST_CENTS} cents."
                )

    @property
    def text(self) -> str:
        """The exact text form; `from_text` reads it back without loss."""
        sizes = zip(_KEYS, self._sizes(), strict=True)
        return " ".join((self.id, *(f"{key}={size}" for key, size in sizes if size is not None)))

    @classmethod
    def from_text(cls, text: str) -> "SignSystem":
        """Read the text form; raises `UnknownSignSystem` for anything else.

        >>> SignSystem.from_text("arrows-own arrow=43/2").arrow_cents
        Fraction(43, 2)
        """
        kind, *parts = text.split(" ")
        try:
            sizes = {key: Fraction(size) for key, size in (part.split("=") for part in parts)}
            system = SystemId(kind)
        except (ValueError, ZeroDivisionError) as error:
            raise _refuse_text(text) from error
        if not sizes.keys() <= set(_KEYS):
            raise _refuse_text(text)
        return cls(system, *(sizes.get(key) for key in _KEYS))

    @property
    def all_signs(self) -> SizedSigns:
        """Every sign that can be read, also where another one of its size is written."""
        return tuple(self._list_signs())

    @property
    def signs(self) -> SizedSigns:
        """Every sign with its size in cents; of two of one size the first is written.

        Ordinary signs come first; among the others those the player gave a size.
        """
        found: dict[Fraction, Sign] = {}
        for sign, cents in self._list_signs():
            found.setdefault(cents, sign)
        return tuple((sign, cents) for cents, sign in found.items())

    def legend(self) -> SizedSigns:
        """Return the signs that need explaining, from the lowest up, each with its cents.

        >>> [(sign.words, int(cents)) for sign, cents in SignSystem().legend()][:2]
        [('three-quarters-flat', -150), ('quarter-flat', -50)]
        """
        special = [pair for pair in self.signs if pair[0] not in signs.ORDINARY]
        return tuple(sorted(special, key=lambda pair: pair[1]))

    def _sizes(self) -> tuple[Fraction | None, ...]:
        return (
            self.arrow_cents,
            self.double_arrow_cents,
            self.stroked_flat_cents,
            self.filled_flat_cents,
        )

    def _list_signs(self) -> Iterator[tuple[Sign, Fraction]]:
        yield from _STANDARD
        if self.id.has_flats_to_size:
            for sign, size in (
                (signs.STROKED_FLAT, self.stroked_flat_cents),
                (signs.FILLED_FLAT, self.filled_flat_cents),
            ):
                if size is not None:
                    yield sign, size
        if self.id in {
            SystemId.STEIN_ZIMMERMANN,
            SystemId.ARROWS_EIGHTH,
            SystemId.TWELFTH_TONES,
        }:
            yield from _QUARTER_TONES
        yield from self._list_arrows()
        if self.id is SystemId.HELMHOLTZ_ELLIS:
            yield from _with_arrows(_COMMA_ARROWS, SYNTONIC_COMMA_CENTS)
            yield from _with_marks(_COMMAS)
        if self.id is SystemId.TWELFTH_TONES:
            yield from _with_marks(_TWELFTHS)

    def _list_arrows(self) -> Iterator[tuple[Sign, Fraction]]:
        usual = _ARROW_CENTS.get(self.id)
        if usual is None:
            return
        own = self.arrow_cents if self.id.has_arrows_to_size else None
        yield from _with_arrows(_ARROWS, own or usual)
        if self.id is SystemId.ARROWS_DOUBLE:
            yield from _with_arrows(_DOUBLE_ARROWS, self.double_arrow_cents or _DOUBLE_ARROW_CENTS)


def _refuse_text(text: str) -> UnknownSignSystem:
    known = ", ".join(SystemId)
    return UnknownSignSystem(f"'{text}' is no system of signs known here. Use one of: {known}.")


def _with_arrows(
    table: tuple[tuple[Sign, Sign], ...], size: Fraction
) -> Iterator[tuple[Sign, Fraction]]:
    for (up, down), (_, cents) in zip(table, _BASES, strict=True):
        yield up, cents + size
        yield down, cents - size


def _with_marks(
    table: tuple[tuple[Sign, Sign, Fraction], ...],
) -> Iterator[tuple[Sign, Fraction]]:
    for up, down, size in table:
        for base, cents in _BASES:
            yield up.before(base), cents + size
            yield down.before(base), cents - size


STEIN_ZIMMERMANN = SignSystem()
SIGN_SYSTEMS: Mapping[SystemId, SignSystem] = MappingProxyType(
    {each: SignSystem(each) for each in SystemId}
)
