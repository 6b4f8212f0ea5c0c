"""Parser of what a player types as a pitch.

The text is one of: a frequency; a size above or below a note; a note with an optional shift. Where
it could mean several things the answer is a question (`AmbiguousPitch`) and never a guess; where
it means nothing, `UnreadablePitch` says from which character on, and what can be written.
"""

import re
import unicodedata

from analysis.pitch.errors import (
    AmbiguousPitch,
    PitchError,
    PitchOutOfRange,
    UnknownInterval,
    UnreadablePitch,
)
from analysis.pitch.formatting import format_pitch
from analysis.pitch.just_intervals import find_just_interval, names_of_degree
from analysis.pitch.lexicon import BARE_NUMBER, FREQUENCY, HELMHOLTZ, fold_phrase, parse_number
from analysis.pitch.names import NoteNames
from analysis.pitch.note_reading import read_note, shift_note
from analysis.pitch.reading import Reading, join_choices
from analysis.pitch.request import HIGHEST_HZ, LOWEST_HZ, Frequency, JustTarget, PitchRequest
from analysis.pitch.vocabulary import HERTZ_UNITS
from analysis.pitch.written import WrittenPitch

_MAX_LENGTH = 100

_LANGUAGES = {
    NoteNames.ENGLISH: "English",
    NoteNames.GERMAN: "German",
    NoteNames.ROMANCE: "Romance (do re mi)",
}


def parse_pitch(text: str, *, names: NoteNames = NoteNames.ENGLISH) -> PitchRequest:
    """Read a pitch as players type it.

    Understood are note names of the language with accidentals as signs or words and a scientific
    octave ("D quarter-flat 5", "Dqf5", "C#5", "Des5", "ré bémol 5"), each with an optional shift
    ("D5 -50", "C#5+50c", "D5, 25 cents lower"); a distance from a note ("quarter tone above C#5",
    "50 cents below D5"); a just interval from a note ("a major third above F4", "5:4 above F4");
    and a frequency ("566.2 Hz"). English accidentals and units are understood in every language.

    Returns a `WrittenPitch`, a `Frequency` (sounding) or a `JustTarget`. Raises `AmbiguousPitch`
    with texts to choose from, or `UnreadablePitch` with the position of the trouble.

    >>> parse_pitch("D5 -50").canonical
    'D5-50c'
    >>> parse_pitch("B4", names=NoteNames.GERMAN).canonical
    'Bb4'
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
        return _parse(composed, names)
    except UnreadablePitch as error:
        hint = _hint_at_other_names(composed, names)
        if hint is None:
            raise
        raise UnreadablePitch(hint, text=composed, position=error.position) from error


def _parse(text: str, names: NoteNames) -> PitchRequest:
    try:
        return _read(Reading.begin(text, names))
    except PitchOutOfRange as error:
        raise UnreadablePitch(str(error), text=text, position=0) from error


def _read(reading: Reading) -> PitchRequest:
    frequency = FREQUENCY.fullmatch(reading.folded)
    if frequency is not None:
        hz = parse_number(frequency["number"]) * HERTZ_UNITS[frequency["unit"]]
        return Frequency(float(hz))
    _refuse_bare_number(reading)
    _refuse_octave_marks(reading)
    relation = reading.lexicon.relation.match(reading.folded)
    if relation is not None and relation["size"].strip():
        return _read_relation(reading, relation)
    return read_note(reading, 0)


def _refuse_bare_number(reading: Reading) -> None:
    number = BARE_NUMBER.fullmatch(reading.folded)
    if number is None or not LOWEST_HZ <= parse_number(number["number"]) <= HIGHEST_HZ:
        return
    shown = number["number"]
    raise reading.ask(f"{shown} of what? Is it a frequency, {shown} Hz?", (f"{shown} Hz",))


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
    in_cents = lexicon.size_in_cents.fullmatch(size)
    if in_cents is not None and not _is_ratio(in_cents):
        cents = parse_number(in_cents["number"])
        return shift_note(_read_root(reading, relation), sign * cents)
    try:
        interval = find_just_interval(size)
    except UnknownInterval:
        raise _ask_degree(reading, relation, size) from None
    return JustTarget(_read_root(reading, relation), interval if sign > 0 else interval.inverted())


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


def _hint_at_other_names(text: str, names: NoteNames) -> str | None:
    """Return what to do if the text is a pitch in another language, else None."""
    for other in NoteNames:
        if other is names:
            continue
        try:
            meaning = _parse(text, other)
        except AmbiguousPitch:
            return _tell_other_names(text, other)
        except UnreadablePitch:
            continue
        if isinstance(meaning, WrittenPitch):
            shown = format_pitch(meaning, names=names)
            return (
                f"'{text.strip()}' is no pitch in {_LANGUAGES[names]} note names. In "
                f"{_LANGUAGES[other]} ones it means '{shown}': write that, or change the note "
                f"names to {_LANGUAGES[other]}."
            )
        return _tell_other_names(text, other)
    return None


def _tell_other_names(text: str, other: NoteNames) -> str:
    return (
        f"'{text.strip()}' can only be read with {_LANGUAGES[other]} note names. "
        f"Change the note names to {_LANGUAGES[other]}, or write it otherwise."
    )
