"""The vocabulary of one language compiled into patterns that read typed text.

Text is first folded character by character, so that positions stay those of the text as typed:
lower case, without accents, with one kind of minus and of space.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar

from analysis.pitch.names import NoteNames
from analysis.pitch.vocabulary import CENT_UNITS, HERTZ_UNITS, VOCABULARIES

_ARROWS = {"⬆": "↑", "⬇": "↓", "🡑": "↑", "🡓": "↓", "🠅": "↑", "🠇": "↓"}
_MINUS_SIGNS = frozenset("−–—‐‑‒﹣")
_NUMBER = r"[0-9]+ +[0-9]+/[1-9][0-9]*|[0-9]+/[1-9][0-9]*|[0-9]+(?:[.,][0-9]+)?"
_WORD_END = r"(?![a-z])"
_SEMITONE_CENTS, _WHOLE_TONE_CENTS = 100, 200
# Abbreviations of accidentals, such as tqf, are not read before the letter.
_LONGEST_ABBREVIATION = 3
# "la" is none of them: it is a note itself.
_ARTICLES_OF_A_NOTE = "the|dem|le|il|el"

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
    if character in _ARROWS:
        return _ARROWS[character]
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


def part_of_a_tone(text: str) -> Fraction | None:
    """Read '1/4' as a part of a whole tone, in cents; None for more than a whole tone.

    >>> part_of_a_tone("1/4"), part_of_a_tone("5/4")
    (Fraction(50, 1), None)
    """
    part = Fraction(text)
    return part * _WHOLE_TONE_CENTS if 0 < part <= 1 else None


@dataclass(frozen=True, slots=True)
class _Tables:
    """The words of a language by what they mean; keys are folded phrases."""

    notes: Mapping[str, tuple[str, int]]
    accidentals: Mapping[str, int]
    amounts: Mapping[str, Fraction]
    directions: Mapping[str, int]
    part_directions: Mapping[str, int]
    prepositions: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Lexicon(_Tables):
    """Compiled patterns and the meanings of what they capture, for one language."""

    early_accidental: re.Pattern[str]
    early_shift: re.Pattern[str]
    head: re.Pattern[str]
    octave: re.Pattern[str]
    late_accidental: re.Pattern[str]
    signed_shift: re.Pattern[str]
    worded_shift: re.Pattern[str]
    part_shift: re.Pattern[str]
    unsigned_shift: re.Pattern[str]
    relation: re.Pattern[str]
    size_in_cents: re.Pattern[str]
    size_in_tones: re.Pattern[str]
    articles: re.Pattern[str]


FREQUENCY = re.compile(rf" *(?P<number>{_NUMBER}) *(?P<unit>{'|'.join(HERTZ_UNITS)}) *")
BARE_NUMBER = re.compile(rf" *(?P<number>{_NUMBER}) *")
# Signs that stand before or after a letter: Unicode's musical symbols with arrows, and a music
# font's own characters (SMuFL), as they are copied from a page.
SIGN = "[\U0001d12c-\U0001d131]|[\ue260-\uf8ff]{1,2}"
ARROW = re.compile(" *(?P<arrow>[↑↓]{1,2}|[⇑⇓])\ufe0f?")
PART = re.compile("[0-9]+/[1-9][0-9]*")
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
    directions = {fold_phrase(word): 1 for words in both for word in words.higher}
    directions |= {fold_phrase(word): -1 for words in both for word in words.lower}
    prepositions = {fold_phrase(word): 1 for words in both for word in words.above}
    prepositions |= {fold_phrase(word): -1 for words in both for word in words.below}
    tables = _Tables(
        notes=notes,
        accidentals=accidentals,
        amounts=_fold_keys(english.amounts) | _fold_keys(own.amounts),
        directions=directions,
        part_directions=directions
        | {
            phrase: 1 if cents > 0 else -1
            for phrase, cents in accidentals.items()
            if abs(cents) == _SEMITONE_CENTS
        },
        prepositions=prepositions,
    )
    whole_tone = _any_of(word for words in both for word in words.whole_tone)
    part = rf"(?P<part>[0-9]+/[1-9][0-9]*)(?:[ -]*(?:{whole_tone}))?"
    articles = _any_of(word for words in both for word in words.articles)
    return Lexicon(
        **{each.name: getattr(tables, each.name) for each in fields(tables)},
        **_compile_note(tables),
        **_compile_shifts(tables, part, articles),
        relation=re.compile(
            rf"(?P<size>.*?)(?<![a-z])(?P<preposition>{_any_of(prepositions)})(?![a-z])"
            rf"(?: +(?:{_ARTICLES_OF_A_NOTE})(?= ))?(?= *[^ ])"
        ),
        size_in_cents=re.compile(rf"(?P<number>{_NUMBER}) *(?P<unit>{_UNIT})?"),
        size_in_tones=re.compile(part),
        articles=re.compile(rf"^(?:(?:{articles}) +)+"),
    )


def _compile_note(tables: _Tables) -> dict[str, Any]:
    """The patterns of a letter, its octave, and an accidental before, after or behind both."""
    accidental = _any_of(tables.accidentals)
    spelled_out = [each for each in tables.accidentals if len(each) > _LONGEST_ABBREVIATION]
    signs = [each for each in tables.accidentals if not each.isascii() or "#" in each]
    return {
        "early_accidental": re.compile(
            rf" *(?P<accidental>{_any_of(spelled_out)}(?=[ -])|{_any_of(signs)}|{SIGN})"
            r"[ -]*(?=[a-z])"
        ),
        "head": re.compile(
            rf" *(?P<note>{_any_of(tables.notes)})"
            rf"(?:[ -]*(?P<accidental>{accidental}|{SIGN}))?{_WORD_END}"
        ),
        "octave": re.compile(r" *(?P<octave>[0-9])(?![0-9])"),
        "late_accidental": re.compile(rf"[ -]*(?P<accidental>{accidental}|{SIGN}){_WORD_END}"),
    }


def _compile_shifts(tables: _Tables, part: str, articles: str) -> dict[str, Any]:
    """The patterns of a distance from the note: with a sign, in words, as a part of a tone."""
    direction, amount = _any_of(tables.directions), f"(?P<amount>{_any_of(tables.amounts)})"
    in_cents = rf"(?P<number>{_NUMBER}) *(?:{_UNIT})"
    leading = rf"(?:(?:{articles}) +)*"
    return {
        "early_shift": re.compile(
            rf" *{leading}(?:{part}|{in_cents}|{amount})"
            rf"[ -]*(?P<direction>{direction})[ ,]+(?=[a-z])"
        ),
        "signed_shift": re.compile(
            rf"[ ,]*(?P<sign>[+-]) *(?P<number>{_NUMBER}) *(?P<unit>{_UNIT})?{_WORD_END}"
        ),
        "worded_shift": re.compile(
            rf"[ ,]+{leading}(?:{in_cents}|{amount})[ -]*(?P<direction>{direction}){_WORD_END}"
        ),
        "part_shift": re.compile(
            rf"[ ,]*{part}[ -]*(?P<direction>{_any_of(tables.part_directions)}){_WORD_END}"
        ),
        "unsigned_shift": re.compile(
            rf"[ ,]+{leading}(?:{part}|{in_cents}?|{amount}){_WORD_END}(?!/)"
        ),
    }


def _fold_keys(table: Mapping[str, MeaningT]) -> dict[str, MeaningT]:
    return {fold_phrase(phrase): meaning for phrase, meaning in table.items()}


def _any_of(phrases: Iterable[str]) -> str:
    """Return a pattern for any of the phrases, the longest first."""
    folded = sorted({fold_phrase(phrase) for phrase in phrases}, key=len, reverse=True)
    return "|".join(re.escape(phrase).replace(r"\ ", "[ -]*") for phrase in folded)


_UNIT = _any_of(CENT_UNITS)
