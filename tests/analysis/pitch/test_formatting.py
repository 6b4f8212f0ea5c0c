"""Names and numbers as they are shown."""

import math
from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    NoteNames,
    PitchOutOfRange,
    WrittenPitch,
    format_cents,
    format_pitch,
    parse_pitch,
)
from analysis.pitch.formatting import PitchStyle, format_exact
from analysis.pitch.lexicon import parse_number
from tests.analysis.pitch.strategies import written_pitches

STYLES: tuple[PitchStyle, ...] = get_args(PitchStyle)


@given(written_pitches, st.sampled_from(NoteNames), st.sampled_from(STYLES))
def test_what_is_shown_reads_back_as_the_same_pitch(
    written: WrittenPitch, names: NoteNames, style: PitchStyle
) -> None:
    assert parse_pitch(format_pitch(written, names=names, style=style), names=names) == written


@pytest.mark.parametrize("names", NoteNames)
@pytest.mark.parametrize("style", STYLES)
def test_every_eighth_tone_of_every_letter_reads_back(names: NoteNames, style: PitchStyle) -> None:
    for letter in "ABCDEFG":
        for alter_cents in range(-250, 251, 25):
            written = WrittenPitch(letter, Fraction(alter_cents), 4)
            shown = format_pitch(written, names=names, style=style)
            assert parse_pitch(shown, names=names) == written


# Names of notes in English, German and French: common practice, from memory.
@pytest.mark.parametrize(
    ("canonical", "english", "german", "romance"),
    [
        ("D5", "D5", "D5", "ré5"),
        ("C#5", "C sharp 5", "Cis5", "do dièse 5"),
        ("Db5", "D flat 5", "Des5", "ré bémol 5"),
        ("Eb4", "E flat 4", "Es4", "mi bémol 4"),
        ("Ab4", "A flat 4", "As4", "la bémol 4"),
        ("B4", "B4", "H4", "si4"),
        ("Bb4", "B flat 4", "B4", "si bémol 4"),
        ("Bbb4", "B double flat 4", "Heses4", "si double bémol 4"),
        ("F##4", "F double sharp 4", "Fisis4", "fa double dièse 4"),
        ("D5-50c", "D quarter-flat 5", "D5, Viertelton tiefer", "ré5, quart de ton plus bas"),
        (
            "C#5+50c",
            "C three-quarters-sharp 5",
            "Cis5, Viertelton höher",
            "do dièse 5, quart de ton plus haut",
        ),
        (
            "C#5+25c",
            "C sharp 5, 25 cents higher",
            "Cis5, 25 Cent höher",
            "do dièse 5, 25 cents plus haut",
        ),
        ("D5-1c", "D5, 1 cent lower", "D5, 1 Cent tiefer", "ré5, 1 cent plus bas"),
    ],
)
def test_a_name_in_words_is_right_in_each_language(
    canonical: str, english: str, german: str, romance: str
) -> None:
    written = WrittenPitch.from_canonical(canonical)
    shown = [format_pitch(written, names=names) for names in NoteNames]
    assert shown == [english, german, romance]


@pytest.mark.parametrize(
    ("canonical", "english", "german", "romance"),
    [
        ("C#5", "C♯5", "Cis5", "do♯5"),
        ("Bb4", "B♭4", "B4", "si♭4"),
        ("D5-50c", "D5 −50 c", "D5 −50 c", "ré5 −50 c"),
        ("D5+50/3c", "D5 +16 2/3 c", "D5 +16 2/3 c", "ré5 +16 2/3 c"),
        ("A4-6843/500c", "A4 −13.686 c", "A4 −13.686 c", "la4 −13.686 c"),
    ],
)
def test_a_short_name_is_right_in_each_language(
    canonical: str, english: str, german: str, romance: str
) -> None:
    written = WrittenPitch.from_canonical(canonical)
    shown = [format_pitch(written, names=names, style="short") for names in NoteNames]
    assert shown == [english, german, romance]


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [
        (12.34, 1, "+12.3"),
        (-4, 1, "−4.0"),
        (0, 1, "0.0"),
        (0.04, 1, "0.0"),
        (-0.04, 1, "0.0"),
        (-0.0, 0, "0"),
        (Fraction(50, 3), 2, "+16.67"),
        (-50, 0, "−50"),
    ],
)
def test_cents_carry_a_sign_unless_they_round_to_zero(
    value: Fraction | float, decimals: int, shown: str
) -> None:
    assert format_cents(value, decimals=decimals) == shown


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_missing_value_is_not_shown_as_a_number(value: float) -> None:
    with pytest.raises(PitchOutOfRange, match="finite number"):
        format_cents(value)


@given(st.fractions(min_value=0, max_value=1000, max_denominator=100_000))
def test_exact_numbers_read_back_exactly(size: Fraction) -> None:
    assert parse_number(format_exact(size)) == size
