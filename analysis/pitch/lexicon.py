"""The vocabulary of one language compiled into patterns that read typed text.

Text is first folded character by character, so that positions stay those of the text as typed:
lower case, without accents, with one kind of minus and of space.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import TypeVar

from analysis.pitch.names import NoteNames
from analysis.pitch.vocabulary import CENT_UNITS, HERTZ_UNITS, VOCABULARIES

_MINUS_SIGNS = frozenset("−–—‐‑‒﹣")
_NUMBER = r"[0-9]+ +[0-9]+/[1-9][0-9]*|[0-9]+/[1-9][0-9]*|[0-9]+(?:[.,][0-9]+)?"
_WORD_END = r"(?![a-z])"

MeaningT = TypeVar("MeaningT")


def fold(text: str) -> str:
    """Fold text for matching, one character for one.

    >>> fold("Ré♭ 5 −50")
    're♭ 5 -50'
    """
    return "".join(_fold_character(character) for character in text)


def _fold_character(character: str) -> str:
    if character in _MINUS_SIGNS:
        return "-"
    if character.isspace():
        return " "
    # A letter with its accents taken off, or a full-width form made plain; anything that would
    # become several characters stays as it is, because positions must not move.
    base, *marks = list(unicodedata.normalize("NFKD", character))
    is_plain = all(unicodedata.combining(mark) for mark in marks)
    return (base if is_plain else character).lower()[0]


def fold_phrase(phrase: str) -> str:
    """Fold a phrase so that case, accents, hyphens and runs of spaces make no difference.

    >>> fold_phrase("Quarter-Tone  flat")
    'quarter tone flat'
    """
    return " ".join(fold(phrase).replace("-", " ").split())


def parse_number(text: str) -> Fraction:
    """Read '50', '12.5', '12,5', '50/3' or '16 2/3' exactly.

    >>> parse_number("16 2/3")
    Fraction(50, 3)
    """
    return sum((Fraction(part) for part in text.replace(",", ".").split()), Fraction(0))


@dataclass(frozen=True, slots=True)
class Lexicon:
    """Compiled patterns and the meanings of what they capture, for one language.

    Keys of the mappings are folded phrases.
    """

    notes: Mapping[str, tuple[str, int]]
    accidentals: Mapping[str, int]
    amounts: Mapping[str, Fraction]
    directions: Mapping[str, int]
    prepositions: Mapping[str, int]
    head: re.Pattern[str]
    octave: re.Pattern[str]
    late_accidental: re.Pattern[str]
    signed_shift: re.Pattern[str]
    worded_shift: re.Pattern[str]
    unsigned_shift: re.Pattern[str]
    relation: re.Pattern[str]
    size_in_cents: re.Pattern[str]
    articles: re.Pattern[str]


FREQUENCY = re.compile(rf" *(?P<number>{_NUMBER}) *(?P<unit>{'|'.join(HERTZ_UNITS)}) *")
BARE_NUMBER = re.compile(rf" *(?P<number>{_NUMBER}) *")
HELMHOLTZ = re.compile(r" *(?P<letter>[a-h])(?P<accidental>[#♯♭]|is|es|b)?(?P<marks>['’‘′″`,]+) *")


@cache
def load_lexicon(names: NoteNames) -> Lexicon:
    """Compile the words of a language, together with the English ones."""
    own, english = VOCABULARIES[names], VOCABULARIES[NoteNames.ENGLISH]
    both = (english, own)
    notes = _fold_keys(own.notes)
    if names is NoteNames.ROMANCE:
        notes = _fold_keys(english.notes) | notes
    accidentals = _fold_keys(english.accidentals) | _fold_keys(own.accidentals)
    amounts = _fold_keys(english.amounts) | _fold_keys(own.amounts)
    directions = {fold_phrase(word): 1 for words in both for word in words.higher}
    directions |= {fold_phrase(word): -1 for words in both for word in words.lower}
    prepositions = {fold_phrase(word): 1 for words in both for word in words.above}
    prepositions |= {fold_phrase(word): -1 for words in both for word in words.below}
    articles = _any_of(word for words in both for word in words.articles)
    accidental, direction = _any_of(accidentals), _any_of(directions)
    unit = _any_of(CENT_UNITS)
    return Lexicon(
        notes=notes,
        accidentals=accidentals,
        amounts=amounts,
        directions=directions,
        prepositions=prepositions,
        head=re.compile(
            rf" *(?P<note>{_any_of(notes)})(?:[ -]*(?P<accidental>{accidental}))?{_WORD_END}"
        ),
        octave=re.compile(r" *(?P<octave>[0-9])(?![0-9])"),
        late_accidental=re.compile(rf"[ -]*(?P<accidental>{accidental}){_WORD_END}"),
        signed_shift=re.compile(
            rf"[ ,]*(?P<sign>[+-]) *(?P<number>{_NUMBER}) *(?P<unit>{unit})?{_WORD_END}"
        ),
        worded_shift=re.compile(
            rf"[ ,]+(?:(?:{articles}) +)*"
            rf"(?:(?P<number>{_NUMBER}) *(?:{unit})|(?P<amount>{_any_of(amounts)}))"
            rf"[ -]*(?P<direction>{direction}){_WORD_END}"
        ),
        unsigned_shift=re.compile(rf"[ ,]+(?P<number>{_NUMBER}) *(?:{unit})?{_WORD_END}"),
        relation=re.compile(
            rf"(?P<size>.*?)(?<![a-z])(?P<preposition>{_any_of(prepositions)})(?![a-z])(?= *[^ ])"
        ),
        size_in_cents=re.compile(rf"(?P<number>{_NUMBER}) *(?P<unit>{unit})?"),
        articles=re.compile(rf"^(?:(?:{articles}) +)+"),
    )


def _fold_keys(table: Mapping[str, MeaningT]) -> dict[str, MeaningT]:
    return {fold_phrase(phrase): meaning for phrase, meaning in table.items()}


def _any_of(phrases: Iterable[str]) -> str:
    """Return a pattern for any of the phrases, the longest first."""
    folded = sorted({fold_phrase(phrase) for phrase in phrases}, key=len, reverse=True)
    return "|".join(re.escape(phrase).replace(r"\ ", "[ -]*") for phrase in folded)
