"""Parser of what a player types as a pitch.

The text is one of: a frequency; a size above or below a note; a note with an optional shift. Where
it could mean several things the answer is a question (`AmbiguousPitch`) and never a guess; where
it means nothing, `UnreadablePitch` says from which character on, and what can be written.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from analysis.pitch.errors import (
    AmbiguousPitch,
    PitchError,
    PitchOutOfRange,
    UnknownInterval,
    UnreadablePitch,
)
from analysis.pitch.formatting import format_exact, format_pitch
from analysis.pitch.just_intervals import find_just_interval, names_of_degree
from analysis.pitch.lexicon import (
    BARE_NUMBER,
    FREQUENCY,
    HELMHOLTZ,
    PART,
    fold,
    fold_phrase,
    parse_number,
    part_of_a_tone,
)
from analysis.pitch.names import NoteNames
from analysis.pitch.note_reading import read_note, read_shift_alone, shift_note
from analysis.pitch.reading import Reading, join_choices
from analysis.pitch.request import HIGHEST_HZ, LOWEST_HZ, Frequency, JustTarget, PitchRequest
from analysis.pitch.sign_systems import SignSystem
from analysis.pitch.vocabulary import HERTZ_UNITS
from analysis.pitch.written import WrittenPitch

_MAX_LENGTH = 100
_WHOLE_TONE_CENTS = 200
# The stored text of a note with the sign it was spelled with: it is English in every language.
_KEPT = re.compile("~-?[0-9/]+ *$")
# A fraction with no whole number before it and no unit of cents after it.
_FRACTION = re.compile(r"(?<![0-9/.,])[0-9]+/[1-9][0-9]*(?! *(?:c|ct|cents?|¢)\b)")
_WHOLE_BEFORE = re.compile("(?:^|[-+ ,])[0-9]+ +$")

_LANGUAGES = {
    NoteNames.ENGLISH: "English",
    NoteNames.GERMAN: "German",
    NoteNames.ROMANCE: "Romance (do re mi)",
}


def parse_pitch(
    text: str,
    *,
    names: NoteNames = NoteNames.ENGLISH,
    system: SignSystem | None = None,
    in_hand: WrittenPitch | None = None,
) -> PitchRequest:
    """Read a pitch as players type it.

    Understood are note names of the language with accidentals as signs or words, before or after
    the letter or after the octave, and a scientific octave ("D quarter-flat 5", "quarter-flat D5",
    "Dqf5", "C#5", "Des5", "ré bémol 5"), each with an optional shift ("D5 -50", "C#5+50c", "D5, 25
    cents lower", "D5 -1/4": a fraction is a part of a whole tone); arrows and the signs of music
    fonts, whose size `system` tells; a distance from a note ("quarter tone above C#5", "50 cents
    below D5"); a just interval from a note ("a major third above F4", "5:4 above F4"); a frequency
    ("566.2 Hz"); and a shift alone ("+50") from the note `in_hand`. English accidentals and units
    are understood in every language.

    Returns a `WrittenPitch`, a `Frequency` (sounding) or a `JustTarget`. Raises `AmbiguousPitch`
    with texts to choose from, or `UnreadablePitch` with the position of the trouble.

    >>> parse_pitch("D5 -50").canonical
    'D5-50c'
    >>> parse_pitch("B4", names=NoteNames.GERMAN).canonical
    'Bb4'
    >>> parse_pitch("d5-1/4").canonical
    'D5-50c'
    >>> parse_pitch("5:4 above F4").interval.name
    'major third'
    """
    composed = unicodedata.normalize("NFC", text)
    if len(composed) > _MAX_LENGTH:
        raise UnreadablePitch(
            f"This text has {len(composed)} characters; a pitch takes at most {_MAX_LENGTH}. "
            "Write the pitch alone, for example D5 -50.",
            text=composed,
            position=_MAX_LENGTH,
        )
    try:
        return _parse(Reading.begin(composed, names, system, in_hand))
    except UnreadablePitch as error:
        hint = _hint_at_other_names(composed, names) or _offer_beginning(error, names, system)
        if hint is None:
            raise
        raise UnreadablePitch(
            hint.message,
            text=composed,
            position=error.position,
            candidates=hint.candidates,
            beside_choices=hint.beside_choices,
        ) from error


def explain_fraction(text: str) -> str:
    """Say what a fraction in a typed text was read as; empty where it has none of a tone.

    >>> explain_fraction("d5-1/4")
    '1/4 is read as a part of a whole tone: 50 cents.'
    """
    folded = fold(text)
    for found in _FRACTION.finditer(folded):
        cents = part_of_a_tone(found[0])
        if cents is not None and not _WHOLE_BEFORE.search(folded[: found.start()]):
            return f"{found[0]} is read as a part of a whole tone: {format_exact(cents)} cents."
    return ""


def _parse(reading: Reading) -> PitchRequest:
    try:
        return _read(reading)
    except PitchOutOfRange as error:
        raise UnreadablePitch(str(error), text=reading.text, position=0) from error


def _read(reading: Reading) -> PitchRequest:
    frequency = FREQUENCY.fullmatch(reading.folded)
    if frequency is not None:
        hz = parse_number(frequency["number"]) * HERTZ_UNITS[frequency["unit"]]
        return Frequency(float(hz))
    if _KEPT.search(reading.text):
        return WrittenPitch.from_canonical(reading.text.strip())
    _refuse_bare_number(reading)
    _refuse_octave_marks(reading)
    relation = reading.lexicon.relation.match(reading.folded)
    if relation is not None and relation["size"].strip():
        return _read_relation(reading, relation)
    shift_cents = read_shift_alone(reading)
    if shift_cents is not None:
        return _shift_what_is_in_hand(reading, shift_cents)
    return read_note(reading, 0)


def _shift_what_is_in_hand(reading: Reading, cents: Fraction) -> WrittenPitch:
    if reading.in_hand is not None:
        return shift_note(reading.in_hand, cents)
    shift = reading.text.strip()
    raise reading.refuse(
        reading.skip_spaces(0),
        f"'{shift}' says how far, but not from which note. Write the note first: D5 {shift}.",
    )


def _refuse_bare_number(reading: Reading) -> None:
    number = BARE_NUMBER.fullmatch(reading.folded)
    if number is None or not LOWEST_HZ <= parse_number(number["number"]) <= HIGHEST_HZ:
        return
    shown = number["number"]
    raise reading.ask(
        f"{shown} of what? Is it a frequency, {shown} Hz?",
        (f"{shown} Hz",),
        beside_choices=f"{shown} of what? Is it a frequency?",
    )


def _refuse_octave_marks(reading: Reading) -> None:
    marks = HELMHOLTZ.fullmatch(reading.folded)
    if marks is None:
        return
    raise reading.refuse(
        marks.start("marks"),
        f"'{reading.text.strip()}' tells the octave by marks. Octaves are numbers here: middle C "
        "(c') is C4, the tuning note (a') A4, and c'' is C5.",
    )


def _read_relation(reading: Reading, relation: re.Match[str]) -> PitchRequest:
    """Read '<size> above <note>'."""
    lexicon = reading.lexicon
    sign = lexicon.prepositions[fold_phrase(relation["preposition"])]
    size = lexicon.articles.sub("", fold_phrase(relation["size"]))
    if size in lexicon.amounts:
        return shift_note(_read_root(reading, relation), sign * lexicon.amounts[size])
    in_tones = lexicon.size_in_tones.fullmatch(size)
    if in_tones is not None:
        _ask_ratio_or_part(reading, relation, size)
        cents = part_of_a_tone(in_tones["part"])
        if cents is not None and not PART.fullmatch(size):
            return shift_note(_read_root(reading, relation), sign * cents)
    in_cents = lexicon.size_in_cents.fullmatch(size)
    if in_cents is not None and not _is_ratio(in_cents):
        cents = parse_number(in_cents["number"])
        return shift_note(_read_root(reading, relation), sign * cents)
    try:
        interval = find_just_interval(size)
    except UnknownInterval:
        raise _ask_degree(reading, relation, size) from None
    return JustTarget(_read_root(reading, relation), interval if sign > 0 else interval.inverted())


def _ask_ratio_or_part(reading: Reading, relation: re.Match[str], size: str) -> None:
    """Ask of '1/4 above D5' whether it is a part of a tone; a ratio below 1 is never so written."""
    cents = part_of_a_tone(size) if PART.fullmatch(size) else None
    if cents is None or cents == _WHOLE_TONE_CENTS:
        return
    rest = reading.text[relation.start("preposition") :].strip()
    candidates = (f"{format_exact(cents)} cents {rest}", f"{size.replace('/', ':')} {rest}")
    raise reading.ask(
        f"Is {size} a part of a whole tone or a ratio: {join_choices(candidates)}?",
        candidates,
        beside_choices=f"Is {size} a part of a whole tone or a ratio?",
    )


def _read_root(reading: Reading, relation: re.Match[str]) -> WrittenPitch:
    return read_note(reading, relation.end())


def _is_ratio(size: re.Match[str]) -> bool:
    """Tell whether a number without unit is a frequency ratio ('5/4') and not cents ('50')."""
    return size["unit"] is None and "/" in size["number"] and " " not in size["number"]


def _ask_degree(reading: Reading, relation: re.Match[str], size: str) -> PitchError:
    """Return the question which third is meant, or the refusal of what is no interval."""
    meanings = names_of_degree(size)
    if not meanings:
        shown = reading.text[: relation.start("preposition")].strip()
        return reading.refuse(
            reading.skip_spaces(0), f"'{shown}' is no distance and no interval known here."
        )
    rest = reading.text[relation.start("preposition") :].strip()
    candidates = tuple(f"{meaning} {rest}" for meaning in meanings)
    return reading.ask(f"Which is meant: {join_choices(meanings)}?", candidates)


@dataclass(frozen=True, slots=True)
class _Hint:
    """A refusal with what may have been meant; `beside_choices` does not quote it."""

    message: str
    candidates: tuple[str, ...] = ()
    beside_choices: str = ""


def _offer_beginning(
    error: UnreadablePitch, names: NoteNames, system: SignSystem | None
) -> _Hint | None:
    """Offer what the text means up to where it made no sense; None where that is nothing."""
    beginning = error.text[: error.position].strip()
    if not beginning:
        return None
    try:
        _parse(Reading.begin(beginning, names, system))
    except AmbiguousPitch as question:
        return _Hint(str(error), question.candidates)
    except UnreadablePitch:
        return None
    return _Hint(str(error), (beginning,))


def _hint_at_other_names(text: str, names: NoteNames) -> _Hint | None:
    """Return what to do if the text is a pitch in another language, and how to write it here."""
    for other in NoteNames:
        if other is names:
            continue
        try:
            meaning = _parse(Reading.begin(text, other))
        except AmbiguousPitch:
            return _tell_other_names(text, other)
        except UnreadablePitch:
            continue
        if isinstance(meaning, WrittenPitch):
            shown = format_pitch(meaning, names=names)
            found = f"'{text.strip()}' is no pitch in {_LANGUAGES[names]} note names"
            return _Hint(
                f"{found}. In {_LANGUAGES[other]} ones it means '{shown}': write that, or change "
                f"the note names to {_LANGUAGES[other]}.",
                (shown,),
                f"{found}, but one in {_LANGUAGES[other]} ones. Is this meant?",
            )
        return _tell_other_names(text, other)
    return None


def _tell_other_names(text: str, other: NoteNames) -> _Hint:
    return _Hint(
        f"'{text.strip()}' can only be read with {_LANGUAGES[other]} note names. "
        f"Change the note names to {_LANGUAGES[other]}, or write it otherwise."
    )
