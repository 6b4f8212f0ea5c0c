"""Parser of one note: a name, an accidental, an octave and a shift.

First everything written is collected (`_NoteParts`); then all pitches it can mean are worked out.
One meaning is the answer; several make a question. An accidental or a shift in words may stand
before the letter, after it, or after the octave.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from analysis.pitch.lexicon import ARROW, PART, fold_phrase, parse_number, part_of_a_tone
from analysis.pitch.names import NATURAL_CENTS
from analysis.pitch.reading import Reading, join_choices
from analysis.pitch.typed_signs import sizes_of_arrows, sizes_of_sign
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
    """A distance from the note; without sign where none was written.

    `is_figure` is a number of cents, as it stands beside a sign.
    """

    size_cents: Fraction
    sign: int | None
    end: int
    can_be_octave: bool = False
    is_figure: bool = False


_NO_SHIFT = _Shift(Fraction(0), 1, 0)


@dataclass(frozen=True, slots=True)
class _NoteParts:
    """What was written; None stands for what was left out."""

    letter: str
    alters_cents: tuple[Fraction, ...]
    octave: int | None
    shift: _Shift
    has_arrow: bool = False


@dataclass(slots=True)
class _Found:
    """What has been collected so far of a note, and up to where the text is read."""

    position: int
    accidental: str | None = None
    arrow: str = ""
    shift: _Shift | None = None

    def take_arrow(self, folded: str) -> None:
        """Read arrows at the position, once."""
        match = None if self.arrow else ARROW.match(folded, self.position)
        if match is not None:
            self.arrow, self.position = match["arrow"], match.end()

    def take_shift(self, shift: _Shift | None) -> None:
        """Take over a shift that was read at the position."""
        if shift is not None:
            self.shift, self.position = shift, shift.end


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
    elif parts.has_arrow:
        reason = "Arrows differ from score to score, and your signs have none. "
    else:
        reason = ""
    raise reading.ask(
        f"{reason}Which is meant: {join_choices(candidates)}?",
        candidates,
        beside_choices=f"{reason}Which is meant?",
    )


def read_shift_alone(reading: Reading) -> Fraction | None:
    """Read a text that is nothing but a distance with its direction, in cents; None for others."""
    apart = replace(reading, folded=f" {reading.folded.strip()}")
    shift = _read_worded_shift(apart, 0) or _read_signed_shift(apart, 0)
    if shift is None or shift.sign is None or shift.end != len(apart.folded):
        return None
    return shift.sign * shift.size_cents


def shift_note(pitch: WrittenPitch, cents: Fraction) -> WrittenPitch:
    """Move a pitch by some cents, keeping its letter for less than a semitone.

    >>> shift_note(WrittenPitch.from_canonical("C#5"), Fraction(50)).canonical
    'C#5+50c'
    >>> shift_note(WrittenPitch.from_canonical("C#5"), Fraction(100)).canonical
    'D5'
    """
    is_small = abs(cents) < _SEMITONE_CENTS
    if is_small and abs(pitch.alter_cents + cents) <= MAX_ALTER_CENTS:
        return replace(pitch, alter_cents=pitch.alter_cents + cents, sign_cents=None)
    return WrittenPitch.from_cents(pitch.cents + cents)


def _collect_parts(reading: Reading, start: int) -> _NoteParts:
    lexicon, folded = reading.lexicon, reading.folded
    found = _read_what_stands_before(reading, start)
    head = lexicon.head.match(folded, found.position)
    if head is None:
        raise reading.refuse(reading.skip_spaces(start))
    found.position = head.end()
    if head["accidental"] is not None:
        _refuse_second(reading, found.accidental, head.start("accidental"))
        found.accidental = head["accidental"]
    found.take_arrow(folded)
    if found.shift is None:
        found.take_shift(_read_worded_shift(reading, found.position))
    octave = lexicon.octave.match(folded, found.position)
    if octave is not None:
        found.position = octave.end()
        _read_late_accidental(reading, found)
        found.take_arrow(folded)
    if found.shift is None:
        found.take_shift(_read_shift(reading, found.position))
    position = reading.skip_spaces(found.position)
    if position < len(folded):
        raise _refuse_rest(reading, position, has_octave=octave is not None)
    letter, alters_cents = _find_alters(reading, head["note"], found, head.start("note"))
    shift = found.shift or _NO_SHIFT
    number = int(octave["octave"]) if octave else None
    return _NoteParts(letter, alters_cents, number, shift, bool(found.arrow))


def _read_what_stands_before(reading: Reading, start: int) -> _Found:
    """Read 'quarter-flat', 'Viertelton tiefer' or an arrow in front of the letter."""
    found = _Found(start)
    accidental = reading.lexicon.early_accidental.match(reading.folded, start)
    if accidental is not None:
        found.accidental, found.position = accidental["accidental"], accidental.end()
        return found
    shift = reading.lexicon.early_shift.match(reading.folded, start)
    if shift is not None:
        found.take_shift(_make_worded(reading, shift, reading.lexicon.directions))
        return found
    found.take_arrow(reading.folded)
    return found


def _read_late_accidental(reading: Reading, found: _Found) -> None:
    """Read 'D5 quarter-flat'; beside another accidental only a microtone, which is a shift."""
    late = reading.lexicon.late_accidental.match(reading.folded, found.position)
    if late is None:
        return
    if found.accidental is None:
        found.accidental, found.position = late["accidental"], late.end()
        return
    cents = reading.lexicon.accidentals.get(fold_phrase(late["accidental"]), 0)
    if cents % _SEMITONE_CENTS and found.shift is None:
        sign = 1 if cents > 0 else -1
        found.take_shift(_Shift(Fraction(abs(cents)), sign, late.end()))


def _refuse_second(reading: Reading, accidental: str | None, position: int) -> None:
    if accidental is not None:
        raise reading.refuse(position, f"'{reading.text.strip()}' alters the note name twice.")


def _find_alters(
    reading: Reading, note: str, found: _Found, position: int
) -> tuple[str, tuple[Fraction, ...]]:
    """Return the letter and every alteration that its name and accidental can mean together."""
    letter, semitones = reading.lexicon.notes[fold_phrase(note)]
    base = Fraction(_SEMITONE_CENTS * semitones)
    alters: tuple[Fraction, ...] = (base,)
    if found.accidental is not None:
        alters = _sizes_of(reading, found.accidental)
        if semitones and note == _GERMAN_B_FLAT:
            alters = (*alters, *(base + cents for cents in alters))
        elif semitones:
            _refuse_second(reading, found.accidental, position + len(note))
    if found.arrow:
        alters = tuple(
            cents
            for alter in alters
            for cents in sizes_of_arrows(found.arrow, int(alter // _SEMITONE_CENTS), reading.system)
            if not alter % _SEMITONE_CENTS
        )
    if not alters:
        raise reading.refuse(
            position, f"'{reading.text.strip()}' has a sign that no system here gives a size."
        )
    return letter, alters


def _sizes_of(reading: Reading, accidental: str) -> tuple[Fraction, ...]:
    cents = reading.lexicon.accidentals.get(fold_phrase(accidental))
    if cents is not None:
        return (Fraction(cents),)
    return sizes_of_sign(accidental, reading.system)


def _read_worded_shift(reading: Reading, position: int) -> _Shift | None:
    """Read '25 cents lower', 'a quarter tone higher' or '1/4 flat'."""
    lexicon, folded = reading.lexicon, reading.folded
    match = lexicon.worded_shift.match(folded, position)
    if match is not None:
        return _make_worded(reading, match, lexicon.directions)
    match = lexicon.part_shift.match(folded, position)
    return _make_worded(reading, match, lexicon.part_directions) if match else None


def _make_worded(reading: Reading, match: re.Match[str], directions: Mapping[str, int]) -> _Shift:
    size_cents = _read_size(reading, match)
    sign = directions[fold_phrase(match["direction"])]
    is_figure = match.groupdict().get("number") is not None
    return _Shift(size_cents, sign, match.end(), is_figure=is_figure)


def _read_size(reading: Reading, match: re.Match[str]) -> Fraction:
    """The size in cents of a match that has a part of a tone, a number, or words."""
    found = match.groupdict()
    if found.get("part") is not None:
        return _read_part(reading, found["part"], match.start("part"))
    if found.get("number") is not None:
        return parse_number(found["number"])
    return reading.lexicon.amounts[fold_phrase(found["amount"])]


def _read_part(reading: Reading, text: str, position: int) -> Fraction:
    """Read a fraction as a part of a whole tone; more than that is asked back as cents."""
    size_cents = part_of_a_tone(text)
    if size_cents is not None:
        return size_cents
    before, after = reading.text[:position], reading.text[position + len(text) :]
    candidate = f"{before}{text} c{after}"
    if after.strip():
        raise reading.refuse(position, f"'{text}' is more than a whole tone.")
    raise reading.ask(
        f"{text} of what? Is it {text} cents?",
        (candidate.strip(),),
        beside_choices=f"{text} of what? Is it cents?",
    )


def _read_shift(reading: Reading, position: int) -> _Shift | None:
    """Read the shift after the octave in any of its forms; None where there is none."""
    shift = _read_worded_shift(reading, position) or _read_signed_shift(reading, position)
    if shift is not None:
        return shift
    unsigned = reading.lexicon.unsigned_shift.match(reading.folded, position)
    if unsigned is None:
        return None
    return _Shift(_read_size(reading, unsigned), None, unsigned.end())


def _read_signed_shift(reading: Reading, position: int) -> _Shift | None:
    """Read '-50', '+12.5 c' or '-1/4'."""
    signed = reading.lexicon.signed_shift.match(reading.folded, position)
    if signed is None:
        return None
    sign, number = 1 if signed["sign"] == "+" else -1, signed["number"]
    if signed["unit"] is None and PART.fullmatch(number):
        size_cents = _read_part(reading, number, signed.start("number"))
        return _Shift(size_cents, sign, signed.end())
    # "D-5" may be D5 with a hyphen as well as a D five cents low.
    is_hyphenated = signed["sign"] == "-" and signed["unit"] is None
    can_be_octave = is_hyphenated and len(number) == 1
    return _Shift(parse_number(number), sign, signed.end(), can_be_octave, is_figure=True)


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
            yield WrittenPitch(parts.letter, alter_cents, octave)
        for octave in _find_octaves(parts, alter_cents):
            note = WrittenPitch(parts.letter, alter_cents, octave)
            for sign in signs:
                yield _spell(note, shift_note(note, sign * parts.shift.size_cents), parts.shift)


def _spell(note: WrittenPitch, shifted: WrittenPitch, shift: _Shift) -> WrittenPitch:
    """Keep the sign that a figure in cents stands beside."""
    is_kept = shift.is_figure and shift.size_cents and shifted.letter == note.letter
    return replace(shifted, sign_cents=note.alter_cents) if is_kept else shifted


def _find_octaves(parts: _NoteParts, alter_cents: Fraction) -> tuple[int, ...]:
    if parts.octave is not None:
        return (parts.octave,)
    above_c_cents = NATURAL_CENTS[parts.letter] + alter_cents
    return tuple(
        octave
        for octave in range(MAX_OCTAVE + 1)
        if _ASK_FROM_CENTS <= 1200 * (octave + 1) + above_c_cents <= _ASK_TO_CENTS
    )
