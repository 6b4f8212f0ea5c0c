"""Note values of a bar: durations as notes with dots, ties and tuplets, and where beams break.

A duration is what a part says, an exact fraction of a quarter note; a notated value is one of
1/1, 1/2, ... 1/256 with up to two dots, within a tuplet or not. Source: common practice of
notation.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

SHORTEST = Fraction(1, 64)
"""A 256th, in quarter notes."""
_LONGEST = Fraction(4)
_MOST_IN_A_TUPLET = 15
_DOTTED = {Fraction(7, 4): 2, Fraction(3, 2): 1, Fraction(1): 0}
_BEATS = (Fraction(1), Fraction(3, 2))


class UnwrittenRhythm(ValueError):
    """A duration that no common note value writes; the bar is engraved without a rhythm."""


@dataclass(frozen=True, slots=True)
class Sounding:
    """Something that fills time in a bar: a note (its place in a list) or, with None, a rest."""

    note: int | None
    start: Fraction
    duration: Fraction

    @property
    def end(self) -> Fraction:
        """Where it ends, in quarter notes from the start of the bar."""
        return self.start + self.duration


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A written note or rest: `base` is 1, 2, 4, ... 256, and `dots` are up to two.

    `start` and `duration` are what it takes of the bar; `is_tied` joins it to the next of its note.
    """

    note: int | None
    base: int
    dots: int
    start: Fraction
    duration: Fraction
    is_tied: bool = False


@dataclass(frozen=True, slots=True)
class ValueGroup:
    """Values that stand together: a tuplet of `count` in the time of `base`, or plain (1 in 1)."""

    values: tuple[NoteValue, ...]
    count: int = 1
    base: int = 1


def fill_bar(sounding: Sequence[Sounding], length: Fraction) -> list[Sounding]:
    """Fill what is silent in a bar with rests; what overlaps is cut where the next one begins."""
    filled: list[Sounding] = []
    at = Fraction(0)
    for place, each in enumerate(sounding):
        following = sounding[place + 1].start if place + 1 < len(sounding) else max(length, at)
        if each.start > at:
            filled.append(Sounding(None, at, each.start - at))
        end = min(each.end, following) if following > each.start else each.end
        filled.append(Sounding(each.note, each.start, end - each.start))
        at = end
    if at < length:
        filled.append(Sounding(None, at, length - at))
    return filled


def write_values(filled: Sequence[Sounding]) -> list[ValueGroup]:
    """Write the durations of a bar without gaps as note values.

    Raises:
        UnwrittenRhythm: a duration is no common note value, in no tuplet of up to fifteen.

    >>> bar = [Sounding(n, Fraction(n, 3), Fraction(1, 3)) for n in range(3)]
    >>> [(g.count, g.base, [v.base for v in g.values]) for g in write_values(bar)]
    [(3, 2, [8, 8, 8])]
    """
    groups: list[ValueGroup] = []
    for span in _cut_tuplets(filled):
        odd = lcm(*(_odd_part(each.duration) for each in span))
        count = odd if odd > 1 else 1
        if count > _MOST_IN_A_TUPLET:
            raise UnwrittenRhythm
        base = 1 << (count.bit_length() - 1)
        ratio = Fraction(count, base)
        values = [value for each in span for value in _split(each, ratio)]
        groups.append(ValueGroup(tuple(values), count, base))
    return groups


def _odd_part(duration: Fraction) -> int:
    denominator = duration.denominator
    return denominator // (denominator & -denominator)


def _cut_tuplets(filled: Sequence[Sounding]) -> Iterator[list[Sounding]]:
    """Cut a bar into plain values, one by one, and tuplets up to where the grid is met again."""
    span: list[Sounding] = []
    for each in filled:
        span.append(each)
        is_whole = _odd_part(sum((one.duration for one in span), Fraction(0))) == 1
        is_beat = len(span) == 1 or (each.end % Fraction(1, 2)) == 0
        if is_whole and (is_beat or _odd_part(span[0].duration) == 1):
            yield span
            span = []
    if span:
        yield span


def _split(each: Sounding, ratio: Fraction) -> Iterator[NoteValue]:
    """Split one duration into values tied to each other, longest first."""
    left, start = each.duration * ratio, each.start
    while left:
        value, base, dots = _longest_within(left)
        left -= value
        took = value / ratio
        yield NoteValue(
            each.note, base, dots, start, took, is_tied=bool(left) and each.note is not None
        )
        start += took


def _longest_within(left: Fraction) -> tuple[Fraction, int, int]:
    plain = _LONGEST
    while plain >= SHORTEST:
        for factor, dots in _DOTTED.items():
            value = plain * factor
            if value <= left and value % SHORTEST == 0 and (left - value) % SHORTEST == 0:
                return value, int(4 / plain), dots
        plain /= 2
    raise UnwrittenRhythm


def choose_beat(filled: Sequence[Sounding], length: Fraction) -> Fraction:
    """Choose where beams break: at quarters, or at dotted ones where fewer notes cross them."""

    def crossing(beat: Fraction) -> int:
        return sum(
            each.duration <= beat and each.start // beat != (each.end - SHORTEST / 16) // beat
            for each in filled
        )

    fitting = [beat for beat in _BEATS if beat == 1 or length % beat == 0]
    return min(fitting, key=lambda beat: (crossing(beat), beat))
