"""Microtones as players type them: fractions, arrows, signs, words; and what pages show reads back.

Which notes are meant is common practice, from memory. Names of the Unicode signs: Unicode 15,
block "Musical Symbols"; of the music font's: SMuFL 1.4.
"""

from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    SIGN_SYSTEMS,
    AmbiguousPitch,
    JustInterval,
    JustTarget,
    NoteNames,
    SignSystem,
    SystemId,
    UnreadablePitch,
    WrittenPitch,
    explain_fraction,
    format_pitch,
    name_letter,
    parse_pitch,
    write_accidental,
)
from analysis.pitch.formatting import PitchStyle

ENGLISH, GERMAN, ROMANCE = NoteNames
EIGHTHS = SIGN_SYSTEMS[SystemId.ARROWS_EIGHTH]
OWN = SignSystem.from_text("arrows-own arrow=33")
DOUBLE = SignSystem.from_text("arrows-double arrow=25 double=50")

ENGLISH_NOTES = {
    "quarter-flat D5": "D5-50c", "♯C5": "C#5", "𝄳D5": "D5-50c",
    "three-quarters-flat E5": "Eb5-50c", "flat D5": "Db5",
    "Db5 quarter sharp": "D5-50c", "F#5 quarter-flat": "F5+50c", "F#5 quarter-tone flat": "F5+50c",
    "D1/4b5": "D5-50c", "D 1/4 flat 5": "D5-50c", "D5 1/4 flat": "D5-50c", "D5 1/4♭": "D5-50c",
    "D5 1/4 tone flat": "D5-50c", "D5 1/8 sharp": "D5+25c", "D5 3/4 tone higher": "E5-50c",
    "1/4 flat D5": "D5-50c", "1/4 of a tone below D5": "D5-50c", "1/4 tone above D5": "D5+50c",
    "a quarter tone flat, D5": "D5-50c", "25 cents flat D5": "D5-25c",
    "d5-1/4": "D5-50c", "D5 -1/4": "D5-50c", "D5+1/8": "D5+25c", "D5 -1/6": "D5-100/3c",
    "D5 +1/12": "D5+50/3c", "D5 -1/3": "D5-200/3c", "D5 +1/2": "D#5", "D5 + 1/1": "E5",
    "D5 -13.7": "D5-137/10c", "D5-13,7": "D5-137/10c", "D5-25c": "D5-25c", "D5 -0.25": "D5-1/4c",
    "D5+50/3c": "D5+50/3c", "F#5 -25": "F#5-25c", "F#5-30": "F#5-30c",
    "\ue280D5": "D5-50c", "D\ue2805": "D5-50c", "D5\ue280": "D5-50c", "D\ue2825 +7": "D5+57c",
    "D\ue2de\ue2625": "D5+9092/125c", "D\ue2a05": "D5-50/3c",
}  # fmt: skip

GERMAN_NOTES = {
    "Viertelton tiefer D5": "D5-50c", "D5 Viertelton hoeher": "D5+50c",
    "D5 Dreiviertelton tiefer": "Db5-50c", "H4 Achtelton höher": "B4+25c",
    "B4 Viertelton tief": "Bb4-50c", "Cis5 1/4 Ton höher": "C#5+50c",
    "Cis5, 1/8-Ton tiefer": "C#5-25c", "D5 Sechstelton höher": "D5+100/3c",
    "H\ue2804": "B4-50c", "Fis5 -25": "F#5-25c",
}  # fmt: skip

ROMANCE_NOTES = {
    "ré5 quart de ton plus haut": "D5+50c", "ré5 1/4 de ton plus bas": "D5-50c",
    "ré5 trois quarts de ton plus bas": "Db5-50c", "ré 1/4 bémol 5": "D5-50c",
    "quart de ton plus grave, ré5": "D5-50c", "ré5 tiers de ton plus aigu": "D5+200/3c",
    "re5 quarto di tono più alto": "D5+50c", "re5 quarto di tono calante": "D5-50c",
    "re5 ottavo di tono crescente": "D5+25c", "re5 1/4 di tono più basso": "D5-50c",
    "re5 tre quarti di tono più alto": "E5-50c",
    "re5 cuarto de tono más alto": "D5+50c", "re5 cuarto de tono abajo": "D5-50c",
    "re5 octavo de tono más agudo": "D5+25c", "re5 1/4 de tono más bajo": "D5-50c",
    "fa sostenido 5 cuarto de tono más grave": "F5+50c",
    "un quarto di tono sopra il re5": "D5+50c", "mi semibemolle 5": "E5-50c",
    "un cuarto de tono por encima de re5": "D5+50c", "fa medio sostenido 5": "F5+50c",
    "re5 un quarto di tono sotto": "D5-50c", "ré quart de dièse 5": "D5+50c",
}  # fmt: skip

NOTES = [
    (names, text, canonical)
    for names, table in ((ENGLISH, ENGLISH_NOTES), (GERMAN, GERMAN_NOTES), (ROMANCE, ROMANCE_NOTES))
    for text, canonical in table.items()
]


@pytest.mark.parametrize(("names", "text", "canonical"), NOTES)
def test_microtones_are_read_as_players_type_them(
    names: NoteNames, text: str, canonical: str
) -> None:
    read = parse_pitch(text, names=names)
    assert isinstance(read, WrittenPitch)
    assert read.cents == WrittenPitch.from_canonical(canonical).cents


@pytest.mark.parametrize(
    ("text", "system", "canonical"),
    [
        ("D↑5", EIGHTHS, "D5+25c"), ("D5↓", EIGHTHS, "D5-25c"), ("↑D5", EIGHTHS, "D5+25c"),
        ("F#↓5", EIGHTHS, "F#5-25c"), ("Bb↑4", EIGHTHS, "Bb4+25c"), ("D⬆️5", OWN, "D5+33c"),
        ("D5↓↓", DOUBLE, "D5-50c"), ("D⇑5", DOUBLE, "D5+50c"), ("F♯⇓5", DOUBLE, "F#5-50c"),
        ("D\U0001d12e5", OWN, "D5+33c"), ("D\U0001d12f5", EIGHTHS, "D5-25c"),
        ("F\U0001d1305", EIGHTHS, "F#5+25c"), ("F\U0001d1315", EIGHTHS, "F#5-25c"),
        ("B\U0001d12c4", EIGHTHS, "Bb4+25c"), ("B\U0001d12d4", EIGHTHS, "Bb4-25c"),
        ("D\ue2725", SIGN_SYSTEMS[SystemId.HELMHOLTZ_ELLIS], "D5+10753/500c"),
        ("D\ue2c25", EIGHTHS, "D5-25c"),
        ("D\ue4425", SignSystem.from_text("stein-zimmermann stroked=-50"), "D5-50c"),
    ],
)  # fmt: skip
def test_a_sign_has_the_size_of_the_players_system(
    text: str, system: SignSystem, canonical: str
) -> None:
    assert parse_pitch(text, system=system) == WrittenPitch.from_canonical(canonical)


@pytest.mark.parametrize(
    ("names", "text", "reason", "meanings"),
    [
        (ENGLISH, "D↑5", "Arrows differ", ("D5+50c", "D5+25c", "D5+100/3c", "D5+50/3c")),
        (ENGLISH, "F#↓5", "Arrows differ", ("F5+50c", "F#5-25c", "F#5-100/3c", "F#5-50/3c")),
        (ENGLISH, "D⇑5", "Arrows differ", ("D5+50c", "D5+100/3c")),
        (ENGLISH, "D\U0001d12e5", "Which is meant", ("D5+50c", "D5+25c", "D5+100/3c", "D5+50/3c")),
        (ENGLISH, "D5 1/4", "no sign", ("D5+50c", "D5-50c")),
        (ENGLISH, "D5 quarter tone", "no sign", ("D5+50c", "D5-50c")),
        (GERMAN, "D5 Viertelton", "no sign", ("D5+50c", "D5-50c")),
        (ROMANCE, "re5 quarto di tono", "no sign", ("D5+50c", "D5-50c")),
        (ENGLISH, "quarter-flat D", "no octave", ("D4-50c", "D5-50c", "D6-50c")),
        (ENGLISH, "D-1/4", "no octave", ("D4-50c", "D5-50c", "D6-50c")),
        (ENGLISH, "D5 +50/3", "50/3 of what", ("D5+50/3c",)),
    ],
)
def test_what_can_mean_several_notes_is_asked_with_all_of_them(
    names: NoteNames, text: str, reason: str, meanings: tuple[str, ...]
) -> None:
    with pytest.raises(AmbiguousPitch, match=reason) as caught:
        parse_pitch(text, names=names)
    read = [parse_pitch(each, names=names) for each in caught.value.candidates]
    assert read == [WrittenPitch.from_canonical(each) for each in meanings]


@pytest.mark.parametrize(
    ("text", "candidates"),
    [("D5-", ("D5",)), ("F# five", ("F#3", "F#4", "F#5", "F#6")), ("nonsense", ())],
)
def test_of_a_text_that_ends_in_something_else_its_beginning_is_offered(
    text: str, candidates: tuple[str, ...]
) -> None:
    with pytest.raises(UnreadablePitch) as caught:
        parse_pitch(text)
    offered = [parse_pitch(each) for each in caught.value.candidates]
    assert offered == [WrittenPitch.from_canonical(each) for each in candidates]


def test_a_fraction_above_a_note_is_asked_as_part_or_ratio() -> None:
    with pytest.raises(AmbiguousPitch, match="part of a whole tone or a ratio") as caught:
        parse_pitch("1/4 above D5")
    read = [parse_pitch(each) for each in caught.value.candidates]
    root = WrittenPitch.from_canonical("D5")
    assert read == [
        WrittenPitch.from_canonical("D5+50c"), JustTarget(root, JustInterval(1, 4)),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["+50", "-25c", "+1/4", "quarter tone higher", "1/4 flat"])
def test_a_shift_alone_is_from_the_note_in_hand_or_refused_with_an_example(text: str) -> None:
    with pytest.raises(UnreadablePitch, match=r"not from which note. Write the note first: D5 "):
        parse_pitch(text)
    in_hand = WrittenPitch.from_canonical("F#4")
    moved = parse_pitch(text, in_hand=in_hand)
    assert isinstance(moved, WrittenPitch)
    assert moved.letter == "F"
    assert abs(moved - in_hand) in {25, 50}


@pytest.mark.parametrize("text", ["Cx↑5", "D↑↓5", "D\ue7005", "quarter sharp F#5"])
def test_signs_that_no_system_has_are_refused(text: str) -> None:
    with pytest.raises(UnreadablePitch):
        parse_pitch(text)


@pytest.mark.parametrize(
    ("text", "shown"), [("ré5 quart de ton plus haut", "D quarter-sharp 5"), ("Des5", "D flat 5")]
)
def test_a_name_of_another_language_is_offered_in_ones_own(text: str, shown: str) -> None:
    with pytest.raises(UnreadablePitch, match="change the note names") as caught:
        parse_pitch(text)
    assert caught.value.candidates == (shown,)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("d5-1/4", "1/4 is read as a part of a whole tone: 50 cents."),
        ("D1/8b5", "1/8 is read as a part of a whole tone: 25 cents."),
        ("D5 -1/6", "1/6 is read as a part of a whole tone: 33 1/3 cents."),
        ("D5+50/3c", ""), ("D5 +16 2/3 c", ""), ("D5 -13.7", ""), ("5/4 above F4", ""),
    ],
)  # fmt: skip
def test_the_reading_of_a_fraction_is_told(text: str, words: str) -> None:
    assert explain_fraction(text) == words


@pytest.mark.parametrize(
    ("text", "sign_cents"),
    [
        ("F#5 -25", 100), ("F#5-30", 100), ("D5 -62", 0), ("Ab4 +16", -100),
        ("D quarter-flat 5 +30", -50), ("D5, 30 cents lower", 0), ("F#5 -60", 100),
        ("D5", None), ("D quarter-flat 5", None), ("D5, a quarter tone lower", None),
        ("D5 +150", None), ("25 cents below F#5", None), ("d5-1/4", None),
    ],
)  # fmt: skip
def test_the_sign_beside_a_figure_is_kept(text: str, sign_cents: int | None) -> None:
    read = parse_pitch(text)
    assert isinstance(read, WrittenPitch)
    assert read.sign_cents == sign_cents
    if sign_cents is None:
        return
    again = parse_pitch(read.kept_text)
    assert isinstance(again, WrittenPitch)
    assert again == read
    assert again.sign_cents == sign_cents


tenths = st.integers(min_value=-2400, max_value=2400).map(lambda count: Fraction(count, 10))
pitches = st.builds(WrittenPitch, st.sampled_from("ABCDEFG"), tenths, st.integers(3, 7))


@given(pitches, st.sampled_from(list(SIGN_SYSTEMS.values())), st.sampled_from(NoteNames))
def test_what_a_page_shows_reads_back_in_every_system_and_language(
    written: WrittenPitch, system: SignSystem, names: NoteNames
) -> None:
    sign = write_accidental(written, system)
    glyphs = "".join(map(chr, sign.codepoints)) if sign.is_shown else ""
    rest = sign.residual_cents if abs(sign.residual_cents) >= Fraction(1, 20) else Fraction(0)
    shown = f"{name_letter(written.letter, names)}{glyphs}{written.octave}"
    read = parse_pitch(f"{shown} {float(rest):+.1f}" if rest else shown, names=names, system=system)
    assert isinstance(read, WrittenPitch)
    if abs(rest) < 100:
        assert read.letter == written.letter
    assert abs(read - written) < Fraction(1, 10)


@given(
    pitches,
    st.sampled_from(NoteNames),
    st.sampled_from(get_args(PitchStyle)),
    st.sampled_from([None, -100, -50, 0, 50, 100]),
)
def test_words_and_short_form_read_back_with_every_spelling(
    written: WrittenPitch, names: NoteNames, style: PitchStyle, spelled: int | None
) -> None:
    sign = None if spelled is None else Fraction(spelled)
    kept = WrittenPitch(written.letter, written.alter_cents, written.octave, sign)
    if sign is not None and abs(written.alter_cents - sign) >= 100:
        return  # from a semitone on a shift leads to another letter
    read = parse_pitch(format_pitch(kept, names=names, style=style), names=names)
    assert isinstance(read, WrittenPitch)
    assert read == written


@given(pitches, st.none() | tenths)
def test_the_kept_text_reads_back_in_every_language(
    written: WrittenPitch, sign_cents: Fraction | None
) -> None:
    kept = WrittenPitch(written.letter, written.alter_cents, written.octave, sign_cents)
    again = WrittenPitch.from_canonical(kept.kept_text)
    assert (again, again.sign_cents) == (written, sign_cents)
    if sign_cents is not None:
        assert all(parse_pitch(kept.kept_text, names=names) == written for names in NoteNames)
