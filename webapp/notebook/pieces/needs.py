"""Needs of a part: every distinct note to finger on one instrument, and what stands apart.

Pure: from a `ScorePart` to notes by their exact written height, each with how often, where, how
long and how closely it has to be in tune. The closest place decides for the note. How closely is
common practice, from memory: 5 cents where a note is held or a just interval, 20 where it is over
before it is heard as in or out of tune.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from fractions import Fraction

from analysis.pitch import JUST_INTERVALS, PitchOutOfRange, Transposition, WrittenPitch
from analysis.score import (
    PartNote,
    PartSegment,
    PartTranscript,
    ReadingSettings,
    ScorePart,
    TrillKind,
    read_part,
)
from analysis.score.transposing import find_pitch_map

HELD_S, SHORT_S = 2.0, 0.3
HELD_TOLERANCE_CENTS, SHORT_TOLERANCE_CENTS = 5.0, 20.0
OCTAVE_CENTS, SEMITONE_CENTS = 1200, 100
MULTIPHONIC = "multiphonic"
OTHER_INSTRUMENT = "for an instrument of another transposition"
NOT_WRITABLE = "beyond what can be written for this instrument"
_JUST_SLACK_CENTS = 0.05  # as near as score files write a cent; a sixth of a tone lies 0.2 away
_JUST_REMAINDERS = sorted(
    {
        round(one.cents % SEMITONE_CENTS, 3)
        for each in JUST_INTERVALS
        for one in (each, each.inverted())
    }
    - {0.0}
)
_LEVELS = ("n", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff")


class Closeness(IntEnum):
    """How closely a note has to be in tune, the closest first."""

    JUST = 0
    HELD = 1
    USUAL = 2
    SHORT = 3

    @property
    def words(self) -> str:
        """In a word or two, as a player says it."""
        return {0: "just interval", 1: "held", 2: "usual", 3: "short"}[self]

    def tolerance_cents(self, usual_cents: float) -> float:
        """Return what counts as in tune, in cents, of a player who usually asks `usual_cents`."""
        if self <= Closeness.HELD:
            return min(usual_cents, HELD_TOLERANCE_CENTS)
        return max(usual_cents, SHORT_TOLERANCE_CENTS) if self is Closeness.SHORT else usual_cents


@dataclass(frozen=True, slots=True)
class NoteNeed:
    """A written note of the instrument, and what the part asks of it.

    `bars` are indices, each once. Lengths are of the shortest and the longest place that is no
    grace note; seconds are None unless a tempo is known for all of them, all are None where there
    are only grace notes. `slurred_count` counts the places without an attack of their own,
    `alternating_count` those within a trill or tremolo. `fingerings` are the composer's.
    """

    written: WrittenPitch
    count: int
    bars: tuple[int, ...]
    closeness: Closeness
    shortest_quarters: Fraction | None
    longest_quarters: Fraction | None
    shortest_s: float | None
    longest_s: float | None
    slurred_count: int
    grace_count: int
    alternating_count: int
    dynamics: tuple[str, ...]
    fingerings: tuple[str, ...]
    techniques: tuple[str, ...]

    @property
    def tongued_count(self) -> int:
        """How often it is attacked."""
        return self.count - self.slurred_count


@dataclass(frozen=True, slots=True)
class ApartItem:
    """What no single note answers, by its kind; `bars` are indices, each once."""

    what: str
    count: int
    bars: tuple[int, ...]
    written: tuple[WrittenPitch, ...] = ()
    fingerings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PartNeeds:
    """The notes of a part, in the order in which they first come, and what stands apart."""

    notes: tuple[NoteNeed, ...]
    apart: tuple[ApartItem, ...]

    def find_tolerances(self, usual_cents: float) -> dict[Fraction, float]:
        """Return what counts as in tune for each note, in cents, by its written cents."""
        return {
            each.written.cents: each.closeness.tolerance_cents(usual_cents) for each in self.notes
        }


@dataclass(frozen=True, slots=True)
class _Place:
    """One place of a note; `length_s` is None where no tempo is known.

    `is_second`: as the other note of a trill or tremolo.
    """

    note: PartNote
    written: WrittenPitch
    length_s: float | None
    is_second: bool = False

    @property
    def is_alternating(self) -> bool:
        """Whether it is heard in turn with another note."""
        return self.note.trill_kind in (TrillKind.TRILL, TrillKind.TREMOLO)

    @property
    def closeness(self) -> Closeness:
        """How closely it has to be in tune by its length."""
        if self.is_alternating or self.note.is_grace:
            return Closeness.SHORT
        if self.note.has_fermata or (self.length_s is not None and self.length_s >= HELD_S):
            return Closeness.HELD
        is_short = self.length_s is not None and self.length_s < SHORT_S
        return Closeness.SHORT if is_short else Closeness.USUAL


_Spelling = tuple[str, int, int, int]  # of Fractions the parts: they are compared faster


@dataclass(slots=True)
class _Gathering:
    """Places by how they are written, and what is apart by kind and what belongs together."""

    places: dict[_Spelling, list[_Place]] = field(default_factory=dict)
    apart: dict[tuple[str, tuple[WrittenPitch, ...], tuple[str, ...]], list[int]] = field(
        default_factory=dict
    )


def is_just(written: WrittenPitch) -> bool:
    """Whether a height lies a named just interval from some semitone, to 0.05 cent.

    >>> is_just(WrittenPitch.from_canonical("A4-6843/500c"))
    True
    >>> is_just(WrittenPitch.from_canonical("A4-100/3c")) or is_just(WrittenPitch.from_cents(6900))
    False
    """
    if written.alter_cents.denominator == 1:
        return False
    left = float(written.alter_cents % SEMITONE_CENTS)
    return any(abs(left - each) <= _JUST_SLACK_CENTS for each in _JUST_REMAINDERS)


def read_part_for(
    transcript: PartTranscript, settings: ReadingSettings, transposition: Transposition
) -> ScorePart:
    """Read a part for an instrument: it decides where neither the file nor the player says.

    What the file states stays; a name that fits the instrument in either notation gives way to it.

    Raises:
        ScoreError: as `read_part`.
    """
    first = find_pitch_map(transcript, settings).segments[0]
    is_answered = first.is_stated or settings.transposition_cents is not None
    is_unnamed = first.transposition_cents == 0
    if not is_answered and (is_unnamed or find_octaves(first, transposition) is not None):
        settings = replace(settings, transposition_cents=transposition.cents)
    return read_part(transcript, settings)


def collect_needs(part: ScorePart, transposition: Transposition) -> PartNeeds:
    """Return what a part asks of an instrument of that transposition.

    A segment that sounds whole octaves from it is another notation for the same instrument; other
    segments stand apart, as do multiphonics, what has no pitch, and what was left out.
    """
    found = _Gathering()
    octaves = [find_octaves(each, transposition) for each in part.segments]
    for note in part.notes:
        shift = octaves[note.segment]
        pitches = note.chord or (note.written,)
        if shift is None:
            _put_apart(found, OTHER_INSTRUMENT, (), (), note.bar)
            continue
        try:
            moved = tuple(move_octaves(each, shift) for each in pitches)
            second = None if note.trill_to is None else move_octaves(note.trill_to, shift)
        except PitchOutOfRange:
            _put_apart(found, NOT_WRITABLE, pitches, (), note.bar)
            continue
        if note.chord:
            _put_apart(found, MULTIPHONIC, moved, note.fingerings, note.bar)
            continue
        length_s = part.duration_s(note)
        places = [_Place(note, moved[0], length_s)]
        if second is not None:
            places.append(_Place(note, second, length_s, is_second=True))
        for place in places:
            found.places.setdefault(_spell(place.written), []).append(place)
    heights: dict[Fraction, list[_Place]] = {}
    for places in found.places.values():
        heights.setdefault(places[0].written.cents, []).extend(places)
    return PartNeeds(
        tuple(_sum_up(places) for places in heights.values()), _list_apart(found, part)
    )


def _spell(pitch: WrittenPitch) -> _Spelling:
    alter = pitch.alter_cents
    return pitch.letter, pitch.octave, alter.numerator, alter.denominator


def find_octaves(segment: PartSegment, transposition: Transposition) -> int | None:
    """Return the octaves from a segment's written pitch to the instrument's, or None."""
    octaves, rest = divmod(segment.transposition_cents - transposition.cents, OCTAVE_CENTS)
    return None if rest else int(octaves)


def move_octaves(pitch: WrittenPitch, octaves: int) -> WrittenPitch:
    """Return a pitch some whole octaves higher; raises `PitchOutOfRange` beyond what is written."""
    return replace(pitch, octave=pitch.octave + octaves) if octaves else pitch


def _put_apart(
    found: _Gathering,
    what: str,
    written: tuple[WrittenPitch, ...],
    fingerings: tuple[str, ...],
    bar: int,
) -> None:
    found.apart.setdefault((what, written, fingerings), []).append(bar)


def _list_apart(found: _Gathering, part: ScorePart) -> tuple[ApartItem, ...]:
    """Return what stands apart, in the order of its first bars."""
    for text in part.texts:
        if text.is_technique:
            _put_apart(found, text.words, (), (), text.bar)
    items = [
        ApartItem(what, len(bars), _each_once(bars), written, fingerings)
        for (what, written, fingerings), bars in found.apart.items()
    ]
    items += [ApartItem(each.kind, each.count, each.bars) for each in part.left_out]
    return tuple(sorted(items, key=lambda each: each.bars[:1]))


def _sum_up(places: Sequence[_Place]) -> NoteNeed:
    timed = [each for each in places if not each.note.is_grace]
    quarters = [each.note.duration for each in timed]
    seconds = [each.length_s for each in timed if each.length_s is not None]
    has_tempo = len(seconds) == len(timed) > 0
    levels = {each.note.dynamic for each in places if each.note.dynamic}
    firsts = [each.note for each in places if not each.is_second]
    return NoteNeed(
        written=places[0].written,
        count=len(places),
        bars=_each_once(each.note.bar for each in places),
        closeness=_find_closeness(places),
        shortest_quarters=min(quarters, key=float, default=None),
        longest_quarters=max(quarters, key=float, default=None),
        shortest_s=min(seconds) if has_tempo else None,
        longest_s=max(seconds) if has_tempo else None,
        slurred_count=sum(each.note.is_slurred or each.is_second for each in places),
        grace_count=len(places) - len(timed),
        alternating_count=sum(each.is_alternating for each in places),
        dynamics=tuple(sorted(levels, key=_LEVELS.index)),
        fingerings=tuple(dict.fromkeys(text for each in firsts for text in each.fingerings)),
        techniques=tuple(dict.fromkeys(text for each in firsts for text in each.techniques)),
    )


def _find_closeness(places: Sequence[_Place]) -> Closeness:
    """Return that of the closest place; a just interval counts wherever it stands for itself."""
    is_alone = any(not (each.is_alternating or each.note.is_grace) for each in places)
    if is_alone and is_just(places[0].written):
        return Closeness.JUST
    return min(each.closeness for each in places)


def _each_once(bars: Iterable[int]) -> tuple[int, ...]:
    return tuple(sorted(set(bars)))


def name_bars(bars: Iterable[int], part: ScorePart) -> str:
    """Name bars by their printed numbers, three and more in a row as a stretch: `12, 31-33`.

    A bar without a number is named by its place from 1, in brackets.
    """
    return ", ".join(_name_stretches(sorted(set(bars)), part))


def _name_stretches(bars: Sequence[int], part: ScorePart) -> Iterator[str]:
    start = 0
    while start < len(bars):
        end = start
        while end + 1 < len(bars) and bars[end + 1] == bars[end] + 1:
            end += 1
        names = [part.bars[bar].label or f"({bar + 1})" for bar in bars[start : end + 1]]
        if len(names) > 2:
            yield f"{names[0]}-{names[-1]}"
        else:
            yield from names
        start = end + 1
