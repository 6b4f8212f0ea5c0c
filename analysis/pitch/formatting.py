"""Formatting of pitches and cents for a player.

Everything that `format_pitch` writes reads back exactly with `parse_pitch` under the same note
names. Cents carry a true minus sign (U+2212).
"""

import math
from fractions import Fraction
from typing import Literal

from analysis.pitch.errors import PitchOutOfRange
from analysis.pitch.names import NoteNames
from analysis.pitch.wording import WORDINGS, Wording
from analysis.pitch.written import WrittenPitch, split_alter

MINUS = "−"

PitchStyle = Literal["words", "short"]


def format_pitch(
    written: WrittenPitch, *, names: NoteNames = NoteNames.ENGLISH, style: PitchStyle = "words"
) -> str:
    """Return the name of a written pitch.

    `words` spells accidentals and quarter tones out in the language of the names; `short` uses
    signs and signed cents. Both are exact: `parse_pitch` gives back the same pitch. The sign it was
    spelled with stays where the language has a word for it.

    >>> pitch = WrittenPitch.from_canonical("D5-50c")
    >>> format_pitch(pitch), format_pitch(pitch, style="short")
    ('D quarter-flat 5', 'D5 −50 c')
    >>> format_pitch(pitch, names=NoteNames.GERMAN)
    'D5, Viertelton tiefer'
    """
    wording = WORDINGS[names]
    semitones, rest_cents = _split(written)
    if style == "short":
        name = wording.short[written.letter][semitones + 2]
        return f"{name}{written.octave}{_format_signed_rest(rest_cents)}"
    quarter_name = wording.quarter_names.get(int(100 * semitones + rest_cents))
    if quarter_name is not None and abs(rest_cents) == 50:
        return f"{wording.words[written.letter][2]}{quarter_name} {written.octave}"
    spelled_name = wording.quarter_names.get(int(written.sign_cents or 0))
    if spelled_name is not None and written.sign_cents is not None:
        rest = _tell_rest(written.alter_cents - written.sign_cents, wording)
        return f"{wording.words[written.letter][2]}{spelled_name} {written.octave}{rest}"
    name = wording.words[written.letter][semitones + 2]
    space = " " if " " in name else ""
    return f"{name}{space}{written.octave}{_tell_rest(rest_cents, wording)}"


def name_letter(letter: str, names: NoteNames, semitones: int = 0) -> str:
    """Return the name of a letter in a language, -2 to 2 semitones altered.

    >>> name_letter("B", NoteNames.GERMAN), name_letter("B", NoteNames.GERMAN, -1)
    ('H', 'B')
    """
    return WORDINGS[names].short[letter][semitones + 2]


def format_cents(value: Fraction | float, *, decimals: int = 1) -> str:
    """Return a signed number of cents, without its unit.

    What rounds to zero carries no sign. Raises `PitchOutOfRange` for infinity and NaN: a missing
    value must be told in words, not as a number.

    >>> format_cents(12.34), format_cents(-4), format_cents(-0.04)
    ('+12.3', '−4.0', '0.0')
    """
    if not math.isfinite(value):
        raise PitchOutOfRange("There is no number of cents to show. Give a finite number.")
    digits = f"{abs(float(value)):.{decimals}f}"
    if float(digits) == 0:
        return digits
    return f"{MINUS if value < 0 else '+'}{digits}"


def format_exact(size: Fraction) -> str:
    """Return a positive number without any rounding: '50', '12.5', or '16 2/3' if it never ends.

    >>> format_exact(Fraction(25, 2)), format_exact(Fraction(50, 3))
    ('12.5', '16 2/3')
    """
    whole, rest = divmod(size, 1)
    places = _decimal_places(rest.denominator)
    if places is None:
        return f"{whole} {rest}" if whole else str(rest)
    return f"{whole}.{int(rest * 10**places):0{places}d}" if places else str(whole)


def _split(written: WrittenPitch) -> tuple[int, Fraction]:
    """Semitones and rest: as it was spelled, where that was with an ordinary sign."""
    semitones, rest_cents = split_alter(written.alter_cents)
    spelled = written.sign_cents
    if spelled is None or spelled % 100 or abs(spelled) > 200 or abs(rest_cents) == 50:
        return semitones, rest_cents
    return int(spelled) // 100, written.alter_cents - spelled


def _decimal_places(denominator: int) -> int | None:
    """Return how many decimals 1/denominator needs, or None if they never end."""
    counts = {2: 0, 5: 0}
    for prime in counts:
        while denominator % prime == 0:
            denominator //= prime
            counts[prime] += 1
    return max(counts.values()) if denominator == 1 else None


def _format_signed_rest(rest_cents: Fraction) -> str:
    if not rest_cents:
        return ""
    return f" {'+' if rest_cents > 0 else MINUS}{format_exact(abs(rest_cents))} c"


def _tell_rest(rest_cents: Fraction, wording: Wording) -> str:
    if not rest_cents:
        return ""
    direction = wording.higher if rest_cents > 0 else wording.lower
    size = abs(rest_cents)
    if size == 50:
        return f", {wording.quarter_tone} {direction}"
    return f", {format_exact(size)} {wording.cent if size <= 1 else wording.cents} {direction}"
