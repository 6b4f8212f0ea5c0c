"""Segments of a part by transposition, and pitch on both sides of it.

The transposition decides, never the clef (MusicXML 4.0, `transpose`: what is added to written pitch
to get sounding pitch; of its numbers `chromatic` and `octave-change` give the size, `diatonic` the
letter). In a concert score `pitch` is sounding and `for-part` has the transposition of the part.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from analysis.notation.instrument_names import find_transpositions, is_clarinet
from analysis.notation.transcript import PartHeading, PartTranscript, ScoreEvent
from analysis.pitch import PitchOutOfRange, SoundingPitch, WrittenPitch
from analysis.score.parts import PartRemark, PartSegment
from analysis.score.settings import ReadingSettings

_LETTERS = "CDEFGAB"
# Letters from written to sounding for each number of semitones, where a file does not say: the
# names of the usual intervals.
_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
# Beyond four octaves it is a slip: the lowest clarinets sound two octaves and a seventh lower.
LARGEST_CENTS = 4800
_START = (0, Fraction(0))
_MOST_REMARKS = 50
_NO_TRANSPOSITION = "A transposition in the file cannot be meant, and is left out."
_OTHER_LETTER = (
    "The transposition names another letter than its semitones do; the semitones are taken."
)
_UNSAID_CHANGE = (
    "It says “{words}” here, but the transposition in the file stays. Look whether the notes from "
    "here on are written for that instrument."
)


@dataclass(frozen=True, slots=True)
class StatedTransposition:
    """What a file states at a place; `steps` are letters, octaves included, None if not given."""

    bar: int
    onset: Fraction
    cents: int
    steps: int | None
    is_for_part: bool


@dataclass(frozen=True, slots=True)
class PitchMap:
    """From the pitches of the file to written and sounding ones, segment by segment."""

    segments: tuple[PartSegment, ...]
    steps: tuple[int | None, ...]
    is_sounding: bool
    remarks: tuple[PartRemark, ...] = ()

    def segment_at(self, bar: int, onset: Fraction) -> PartSegment:
        """Return the segment of a place."""
        if len(self.segments) == 1:
            return self.segments[0]
        at = bisect_right(self.segments, (bar, onset), key=_place_of)
        return self.segments[max(0, at - 1)]

    def to_written(self, pitch: WrittenPitch, segment: PartSegment) -> WrittenPitch:
        """Return what stands on the player's page for a pitch of the file."""
        if not self.is_sounding:
            return pitch
        return transpose(pitch, -segment.transposition_cents, _minus(self.steps[segment.index]))

    def to_sounding(self, written: WrittenPitch, segment: PartSegment) -> SoundingPitch:
        """Return what is heard of a written pitch."""
        return _sound(written, segment.transposition_cents)


def _place_of(segment: PartSegment) -> tuple[int, Fraction]:
    return (segment.bar, segment.onset)


@lru_cache(maxsize=2048)
def _sound(written: WrittenPitch, transposition_cents: int) -> SoundingPitch:
    return SoundingPitch(float(written.cents + transposition_cents))


def names_of(heading: PartHeading) -> tuple[str, ...]:
    """Return all names that a part has in the file, the printed one first."""
    return (heading.name, *heading.instruments, *heading.sounds)


def transpose(pitch: WrittenPitch, cents: int, steps: int | None = None) -> WrittenPitch:
    """Return a pitch some cents higher on the letter `steps` away (octaves included).

    Where a letter would have to be altered by more than 250 cents, the usual name is taken.

    >>> transpose(WrittenPitch.from_canonical("C3"), 1400).canonical
    'D4'
    """
    steps = usual_steps(cents) if steps is None else steps
    octave, letter = divmod(7 * pitch.octave + _LETTERS.index(pitch.letter) + steps, 7)
    target = pitch.cents + cents
    try:
        natural = WrittenPitch(_LETTERS[letter], Fraction(0), octave)
        return natural.raised_by(target - natural.cents)
    except PitchOutOfRange:
        return WrittenPitch.from_cents(target)


def usual_steps(cents: int) -> int:
    """Return how many letters an interval of that many cents usually leads, octaves included.

    >>> usual_steps(-200), usual_steps(-1400), usual_steps(300)
    (-1, -8, 2)
    """
    octaves, semitones = divmod(abs(round(cents / 100)), 12)
    return (7 * octaves + _STEPS[semitones]) * (1 if cents >= 0 else -1)


def find_stated(transcript: PartTranscript) -> tuple[list[StatedTransposition], list[PartRemark]]:
    """Return the transpositions that a file states, in order, and what is odd about them."""
    stated: list[StatedTransposition] = []
    odd: dict[str, list[int]] = {}
    for event in transcript.events:
        if event.kind not in ("transpose", "for-part") or event.staff > 1:
            continue
        if event.kind == "transpose" and transcript.is_concert_score:
            continue  # octaves of the score, not of the part
        found = _read_stated(event)
        if found is None:
            odd.setdefault(_NO_TRANSPOSITION, []).append(event.bar)
            continue
        if found.steps is not None and abs(found.steps - usual_steps(found.cents)) > 1:
            odd.setdefault(_OTHER_LETTER, []).append(event.bar)
            found = replace(found, steps=None)
        stated.append(found)
    return stated, [PartRemark(words, tuple(bars)) for words, bars in odd.items()]


def _read_stated(event: ScoreEvent) -> StatedTransposition | None:
    diatonic, chromatic, octaves = (
        None if each == "-" else Fraction(each) for each in event.value.split()
    )
    cents = round(100 * ((chromatic or 0) + 12 * (octaves or 0)))
    if abs(cents) > LARGEST_CENTS:
        return None
    steps = None if diatonic is None else int(diatonic) + 7 * int(octaves or 0)
    return StatedTransposition(event.bar, event.onset, cents, steps, event.kind == "for-part")


def find_pitch_map(transcript: PartTranscript, settings: ReadingSettings) -> PitchMap:
    """Return the segments of a part under the player's answers.

    Where the file states no transposition, or none for a clarinet that transposes, the answer
    counts, else the first that the part's name can mean, else none.
    """
    stated, remarks = find_stated(transcript)
    named = find_transpositions(names_of(transcript.heading))
    if not stated or (stated[0].bar, stated[0].onset) > _START:
        stated.insert(0, StatedTransposition(*_START, 0, None, is_for_part=False))
    told = settings.transposition_cents
    segments: list[PartSegment] = []
    steps: list[int | None] = []
    sounds = {event.bar: event.value for event in transcript.events if event.kind == "instrument"}
    for each in stated:
        is_silent = each.cents == 0 and 0 not in named
        cents = each.cents
        if told is not None and (is_silent or len(stated) == 1):
            cents = told
        elif is_silent and named:
            cents = named[0]
        if segments and segments[-1].transposition_cents == cents:
            continue
        place = (len(segments), each.bar, each.onset)
        sound = " ".join(sounds.get(each.bar, "").split(".")[-2:])
        name = sound or ("" if segments else transcript.heading.name)
        segments.append(PartSegment(*place, cents, not is_silent, name))
        steps.append(each.steps if cents == each.cents else None)
    is_concert = transcript.is_concert_score or any(each.is_for_part for each in stated)
    is_sounding = is_concert if settings.is_sounding is None else settings.is_sounding
    remarks += _find_unsaid_changes(transcript, segments)
    return PitchMap(tuple(segments), tuple(steps), is_sounding, tuple(remarks))


def _find_unsaid_changes(
    transcript: PartTranscript, segments: Sequence[PartSegment]
) -> list[PartRemark]:
    """Words that send the player to another clarinet while the transposition stays."""
    remarks: list[PartRemark] = []
    last_place: dict[int, int] = {}  # of each transposition, the last segment that has it
    for segment in segments:
        last_place[segment.transposition_cents] = segment.index
    for event in transcript.events:
        if event.kind != "words" or not is_clarinet((event.value,)):
            continue
        meant = find_transpositions((event.value,))
        now = bisect_right(segments, (event.bar, event.onset), key=_place_of) - 1
        is_said = any(last_place.get(cents, -1) >= now for cents in meant)
        if meant and not is_said and len(remarks) < _MOST_REMARKS:
            remarks.append(PartRemark(_UNSAID_CHANGE.format(words=event.value), (event.bar,)))
    return remarks


def _minus(steps: int | None) -> int | None:
    return None if steps is None else -steps
