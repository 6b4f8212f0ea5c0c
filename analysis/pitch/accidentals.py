"""The sign before a note in a system of signs, and what it leaves to a figure.

A size that the system has is written by its sign. Otherwise the sign that the note was spelled
with stands there, and without one the nearest, with the rest as a figure beside it: cents, or in
the system of just intervals the ratio whose distance from equal temperament it is. So no sign is
ever false. Notation files: MusicXML 4.0 accidental-value and alter; MEI data.ACCIDENTAL.WRITTEN.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from types import MappingProxyType

from analysis.pitch import signs
from analysis.pitch.formatting import format_cents
from analysis.pitch.just_intervals import JUST_INTERVALS, JustInterval
from analysis.pitch.sign_systems import SignSystem, SizedSigns, SystemId
from analysis.pitch.signs import Sign
from analysis.pitch.written import WrittenPitch

# What is left out is told to a tenth of a cent; less is nothing to read or play.
_FIGURE_FROM_CENTS = Fraction(1, 20)
_OCTAVE_CENTS, _SEMITONE_CENTS = 1200, 100


@dataclass(frozen=True, slots=True)
class AccidentalSign:
    """The sign chosen for an alteration, and what it leaves out.

    `codepoints` are the SMuFL code points of its glyphs from left to right, `sign_cents` what the
    sign stands for, counted from the natural note, and `residual_cents` the rest: alteration =
    sign_cents + residual_cents. `figure` is the rest as it is printed beside the sign, empty where
    it is less than 0.05 cent. `musicxml_name` and `mei_name` are what notation files call the sign
    ("other" and None where they have no name).
    """

    sign: Sign
    sign_cents: Fraction
    residual_cents: Fraction
    figure: str

    @property
    def codepoints(self) -> tuple[int, ...]:
        """The glyphs from left to right, by SMuFL code point."""
        return self.sign.codepoints

    @property
    def name_in_words(self) -> str:
        """What a reader calls the sign."""
        return self.sign.words

    @property
    def musicxml_name(self) -> str:
        """The MusicXML accidental-value, "other" where the list has none."""
        return self.sign.musicxml_name

    @property
    def mei_name(self) -> str | None:
        """The MEI written accidental, None where there is none."""
        return self.sign.mei_name

    @property
    def is_shown(self) -> bool:
        """Whether it stands before a note: an ordinary natural does not."""
        return self.sign is not signs.NATURAL


def write_accidental(written: WrittenPitch, system: SignSystem) -> AccidentalSign:
    """Return the sign for a note as it is spelled.

    The spelling is kept: F sharp 25 cents lower stays that, and does not become F quarter-sharp 25
    cents higher.

    >>> written = WrittenPitch.from_canonical("F#5-30c~100")
    >>> sign = write_accidental(written, SignSystem())
    >>> sign.name_in_words, sign.figure
    ('sharp', '\u221230')
    """
    nearest = nearest_accidental(written.alter_cents, system)
    if not nearest.figure or written.sign_cents is None:
        return nearest
    for sign, cents in _signs_of(system):
        if cents == written.sign_cents:
            return _leave(sign, cents, written.alter_cents, system)
    return nearest


def nearest_accidental(alter_cents: Fraction | int, system: SignSystem) -> AccidentalSign:
    """Return the sign nearest to an alteration from the natural note, and the rest in cents.

    Halfway between two signs an ordinary one is taken, and of two such the one nearer to the
    natural.

    >>> sign = nearest_accidental(Fraction(-62), SignSystem())
    >>> sign.name_in_words, hex(sign.codepoints[0]), sign.residual_cents
    ('quarter-flat', '0xe280', Fraction(-12, 1))
    """
    sign, cents = min(
        _signs_of(system),
        key=lambda pair: (
            abs(alter_cents - pair[1]),
            pair[0] not in signs.ORDINARY,
            abs(pair[1]),
        ),
    )
    return _leave(sign, cents, Fraction(alter_cents), system)


def musicxml_accidental(alter_cents: Fraction | int, system: SignSystem) -> str:
    """Return the MusicXML `<accidental>` value of the nearest sign.

    >>> musicxml_accidental(25, SignSystem(SystemId.ARROWS_EIGHTH))
    'natural-up'
    """
    return nearest_accidental(alter_cents, system).musicxml_name


def musicxml_alter(alter_cents: Fraction | int) -> str:
    """Return the MusicXML `<alter>` value: decimal semitones, six places where it never ends.

    >>> musicxml_alter(-50), musicxml_alter(Fraction(50, 3))
    ('-0.5', '0.166667')
    """
    semitones = Fraction(alter_cents) / 100
    return f"{float(semitones):z.6f}".rstrip("0").rstrip(".")


def list_just_figures() -> tuple[tuple[str, Fraction], ...]:
    """Return each ratio that stands for a distance from equal temperament, with its cents.

    One ratio for each distance, that of the smallest numbers; within an octave above its root.

    >>> dict(list_just_figures())["5/4"]
    Fraction(-6843, 500)
    """
    return tuple((ratio, cents) for cents, ratio in _just_figures().items())


@cache
def _signs_of(system: SignSystem) -> SizedSigns:
    return system.signs


def _leave(
    sign: Sign, cents: Fraction, alter_cents: Fraction, system: SignSystem
) -> AccidentalSign:
    rest = alter_cents - cents
    return AccidentalSign(sign, cents, rest, _write_figure(rest, system))


def _write_figure(rest_cents: Fraction, system: SignSystem) -> str:
    if abs(rest_cents) < _FIGURE_FROM_CENTS:
        return ""
    if system.id is SystemId.JUST:
        for cents, ratio in _just_figures().items():
            if abs(cents - rest_cents) <= _FIGURE_FROM_CENTS:
                return ratio
    return format_cents(float(rest_cents), decimals=0 if rest_cents % 1 == 0 else 1)


@cache
def _just_figures() -> Mapping[Fraction, str]:
    found: dict[Fraction, JustInterval] = {}
    for interval in sorted(_within_an_octave(), key=lambda each: each.numerator):
        rest = interval.cents - _SEMITONE_CENTS * round(interval.cents / _SEMITONE_CENTS)
        if round(rest, 3):
            found.setdefault(Fraction(round(rest * 1000), 1000), interval)
    return MappingProxyType(
        {cents: f"{each.numerator}/{each.denominator}" for cents, each in found.items()}
    )


def _within_an_octave() -> set[JustInterval]:
    rising = {each for each in JUST_INTERVALS if each.cents < _OCTAVE_CENTS}
    return rising | {JustInterval(2 * each.denominator, each.numerator) for each in rising}
