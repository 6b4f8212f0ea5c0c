"""Parser of one note: a name, an accidental, an octave and a shift.

First everything written is collected (`_NoteParts`); then all pitches it can mean are worked out.
One meaning is the answer; several make a question.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from analysis.pitch.lexicon import Lexicon, fold_phrase, parse_number
from analysis.pitch.names import NATURAL_CENTS
from analysis.pitch.reading import Reading, join_choices
from analysis.pitch.written import MAX_ALTER_CENTS, MAX_OCTAVE, WrittenPitch

# A note without octave is asked back between E3 and C7, the compass of the soprano.
_ASK_FROM_CENTS = 5200
_ASK_TO_CENTS = 9600

# From this size on a shift moves to another note name.
_SEMITONE_CENTS = 100

# The German name that is already altered and yet looks like the plain letter of other languages.
_GERMAN_B_FLAT = "b"

_DIGITS = re.compile(r"[0-9]+")


@dataclass(frozen=True, slots=True)
class _Shift:
    """A distance from the note; without sign where none was written."""

    size_cents: Fraction
    sign: int | None
    end: int
    can_be_octave: bool = False


@dataclass(frozen=True, slots=True)
class _NoteParts:
    """What was written; None stands for what was left out."""

    letter: str
    alters_cents: tuple[int, ...]
    octave: int | None
    shift: _Shift


def read_note(reading: Reading, start: int) -> WrittenPitch:
    """Read the text from `start` to its end as one note.

    Raises `UnreadablePitch`, `AmbiguousPitch`, or `PitchOutOfRange`.
    """
    parts = _collect_parts(reading, start)
    meanings = tuple(dict.fromkeys(_find_meanings(parts)))
    if len(meanings) == 1 and parts.octave is not None:
        return meanings[0]
    prefix = reading.text[:start].strip()
    candidates = tuple(f"{prefix} {reading.show(pitch)}".strip() for pitch in meanings)
    if parts.octave is None:
        reason = "There is no octave number. "
    elif parts.shift.sign is None:
        reason = "There is no sign for higher or lower. "
    else:
        reason = ""
    raise reading.ask(f"{reason}Which is meant: {join_choices(candidates)}?", candidates)


def shift_note(pitch: WrittenPitch, cents: Fraction) -> WrittenPitch:
    """Move a pitch by some cents, keeping its letter for less than a semitone.

    >>> shift_note(WrittenPitch.from_canonical("C#5"), Fraction(50)).canonical
    'C#5+50c'
    >>> shift_note(WrittenPitch.from_canonical("C#5"), Fraction(100)).canonical
    'D5'
    """
    is_small = abs(cents) < _SEMITONE_CENTS
    if is_small and abs(pitch.alter_cents + cents) <= MAX_ALTER_CENTS:
        return pitch.raised_by(cents)
    return WrittenPitch.from_cents(pitch.cents + cents)


def _collect_parts(reading: Reading, start: int) -> _NoteParts:
    lexicon, folded = reading.lexicon, reading.folded
    head = lexicon.head.match(folded, start)
    if head is None:
        raise reading.refuse(reading.skip_spaces(start))
    accidental, position = head["accidental"], head.end()
    inner_shift = _read_worded_shift(reading, position)
    position = inner_shift.end if inner_shift else position
    octave = lexicon.octave.match(folded, position)
    position = octave.end() if octave else position
    late = lexicon.late_accidental.match(folded, position)
    if late is not None and octave is not None and accidental is None:
        accidental, position = late["accidental"], late.end()
    shift = inner_shift or _read_shift(reading, position)
    position = reading.skip_spaces(max(position, shift.end))
    if position < len(folded):
        raise _refuse_rest(reading, position, has_octave=octave is not None)
    letter, alters_cents = _find_alters(reading, head["note"], accidental, head.start("note"))
    return _NoteParts(letter, alters_cents, int(octave["octave"]) if octave else None, shift)


def _find_alters(
    reading: Reading, note: str, accidental: str | None, position: int
) -> tuple[str, tuple[int, ...]]:
    """Return the letter and every alteration that its name and accidental can mean together."""
    letter, semitones = reading.lexicon.notes[fold_phrase(note)]
    if accidental is None:
        return letter, (100 * semitones,)
    cents = reading.lexicon.accidentals[fold_phrase(accidental)]
    if semitones == 0:
        return letter, (cents,)
    if note == _GERMAN_B_FLAT:
        return letter, (cents, 100 * semitones + cents)
    raise reading.refuse(
        position + len(note), f"'{reading.text.strip()}' alters the note name twice."
    )


def _read_worded_shift(reading: Reading, position: int) -> _Shift | None:
    """Read '25 cents lower' or 'a quarter tone higher'."""
    match = reading.lexicon.worded_shift.match(reading.folded, position)
    if match is None:
        return None
    return _Shift(
        size_cents=_read_size(reading.lexicon, match),
        sign=reading.lexicon.directions[fold_phrase(match["direction"])],
        end=match.end(),
    )


def _read_size(lexicon: Lexicon, match: re.Match[str]) -> Fraction:
    if match["number"] is not None:
        return parse_number(match["number"])
    return lexicon.amounts[fold_phrase(match["amount"])]


def _read_shift(reading: Reading, position: int) -> _Shift:
    """Read the shift after the octave in any of its forms; no text means no shift."""
    worded = _read_worded_shift(reading, position)
    if worded is not None:
        return worded
    signed = reading.lexicon.signed_shift.match(reading.folded, position)
    if signed is not None:
        # "D-5" may be D5 with a hyphen as well as a D five cents low.
        is_hyphenated = signed["sign"] == "-" and signed["unit"] is None
        return _Shift(
            size_cents=parse_number(signed["number"]),
            sign=1 if signed["sign"] == "+" else -1,
            end=signed.end(),
            can_be_octave=is_hyphenated and len(signed["number"]) == 1,
        )
    unsigned = reading.lexicon.unsigned_shift.match(reading.folded, position)
    if unsigned is not None:
        return _Shift(parse_number(unsigned["number"]), None, unsigned.end())
    return _Shift(Fraction(0), 1, position)


def _refuse_rest(reading: Reading, position: int, *, has_octave: bool) -> Exception:
    digits = _DIGITS.match(reading.folded, position)
    if digits is None or has_octave:
        return reading.refuse(position)
    return reading.refuse(
        position,
        f"'{digits[0]}' is no octave: octaves run from 0 to {MAX_OCTAVE}, and cents take a sign.",
    )


def _find_meanings(parts: _NoteParts) -> Iterator[WrittenPitch]:
    signs = (1, -1) if parts.shift.sign is None else (parts.shift.sign,)
    for alter_cents in parts.alters_cents:
        if parts.octave is None and parts.shift.can_be_octave:
            octave = int(parts.shift.size_cents)
            yield WrittenPitch(parts.letter, Fraction(alter_cents), octave)
        for octave in _find_octaves(parts, alter_cents):
            note = WrittenPitch(parts.letter, Fraction(alter_cents), octave)
            for sign in signs:
                yield shift_note(note, sign * parts.shift.size_cents)


def _find_octaves(parts: _NoteParts, alter_cents: int) -> tuple[int, ...]:
    if parts.octave is not None:
        return (parts.octave,)
    above_c_cents = NATURAL_CENTS[parts.letter] + alter_cents
    return tuple(
        octave
        for octave in range(MAX_OCTAVE + 1)
        if _ASK_FROM_CENTS <= 1200 * (octave + 1) + above_c_cents <= _ASK_TO_CENTS
    )
