"""Parts typed by hand: what is understood, what is refused and where, and there and back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import NoteNames, WrittenPitch
from analysis.score import (
    ReadingSettings,
    TrillKind,
    TypedBar,
    TypedNote,
    UnreadableTypedPart,
    parse_typed_part,
    read_part,
    to_transcript,
    write_typed_part,
)
from analysis.score.typed import MOST_CHARACTERS

EXAMPLE = "12: D5 -50 (1/4), E5~F5+25 | 13: tr D5/Dqf5"


def pitches(text: str, names: NoteNames = NoteNames.ENGLISH) -> list[list[str]]:
    bars = parse_typed_part(text, names=names)
    return [[each.canonical for note in bar.notes for each in note.pitches] for bar in bars]


def test_the_example_is_read_as_it_says() -> None:
    first, second = parse_typed_part(EXAMPLE)
    assert (first.label, second.label) == ("12", "13")
    d, e, f = first.notes
    assert [note.pitches[0].canonical for note in (d, e, f)] == ["D5-50c", "E5", "F5+25c"]
    assert [note.length for note in (d, e, f)] == [1, 1, 1]
    assert [note.is_slurred for note in (d, e, f)] == [False, False, True]
    (trill,) = second.notes
    assert trill.trill_kind is TrillKind.TRILL
    assert trill.trill_to == WrittenPitch.from_canonical("D5-50c")


def test_the_last_octave_and_length_are_remembered() -> None:
    bars = parse_typed_part("D5 (1/8), E, F+25, G4, A | r (1/2), Bb")
    notes = [note for bar in bars for note in bar.notes]
    assert pitches("D5 (1/8), E, F+25, G4, A | r (1/2), Bb") == [
        ["D5", "E5", "F5+25c", "G4", "A4"], ["Bb4"],
    ]  # fmt: skip
    assert [note.length for note in notes] == [Fraction(1, 2)] * 5 + [2, 2]


def test_low_notes_find_their_octave_too() -> None:
    assert pitches("Eb3, D, C#, F-30") == [["Eb3", "D3", "C#3", "F3-30c"]]


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("D5 | E5 | F5", ["1", "2", "3"]),
        ("7: D5 | E5 | 20: F5", ["7", "8", "20"]),
        ("X1: D5 | E5", ["X1", ""]),
        ("12a: D5\n13: E5\n\n F5", ["12a", "13", "14"]),
        ("4: D5 | % | %2 | E5", ["4", "5", "6", "7", "8"]),
        ("4: D5 | 5: %2 | E5", ["4", "5", "6", "7"]),
    ],
)
def test_bars_carry_their_number_or_count_on(text: str, labels: list[str]) -> None:
    assert [bar.label for bar in parse_typed_part(text)] == labels


def test_a_bar_repeated_after_a_rest_begins_without_a_slur() -> None:
    bars = parse_typed_part("D5 | ~E5, r | %")
    assert [bar.notes[0].is_slurred for bar in bars] == [False, True, False]


def test_a_repeated_bar_has_the_same_notes() -> None:
    first, second, third = parse_typed_part("D5 -50, E5 | %2")
    assert first.notes == second.notes == third.notes


def test_every_mark_is_read() -> None:
    text = (
        'gr C5, D4 & A5 +50 (1/4+1/16) [T R 12-|1--] "slap" "pp", trem D5/A5 "1/4 = 90" '
        "| ~5:4 above F4"
    )
    (grace, chord, tremolo), (just,) = (bar.notes for bar in parse_typed_part(text))
    assert grace.is_grace and grace.length == 0
    assert [each.canonical for each in chord.pitches] == ["D4", "A5+50c"]
    assert (chord.length, chord.fingering) == (Fraction(5, 4), "T R 12-|1--")
    assert chord.words == ("slap", "pp")
    assert tremolo.trill_kind is TrillKind.TREMOLO
    assert just.is_slurred
    assert just.pitches[0].letter == "A"
    part = read_part(
        to_transcript(parse_typed_part(text)), ReadingSettings(transposition_cents=-200)
    )
    assert [each.quarters_per_minute for each in part.tempos] == [90]
    assert [each.words for each in part.texts] == ["slap"]
    assert [each.dynamic for each in part.notes] == ["pp"] * 4
    assert part.notes[2].trill_to == WrittenPitch.from_canonical("A5")
    assert part.notes[1].fingerings == ("T R 12-|1--",)
    assert part.notes[3].is_slurred


def test_fractions_of_a_cent_stand_beside_the_stroke_of_a_trill() -> None:
    (bar,) = parse_typed_part("tr D5 +16 2/3 c/E5 −33 1/3 c")
    assert bar.notes[0].pitches[0] == WrittenPitch.from_canonical("D5+50/3c")
    assert bar.notes[0].trill_to == WrittenPitch.from_canonical("E5-100/3c")


def test_note_names_of_other_languages_are_read() -> None:
    assert pitches("Des5, H4 -50, Es", NoteNames.GERMAN) == [["Db5", "B4-50c", "Eb4"]]
    assert pitches("ré5 -50, si bémol 4", NoteNames.ROMANCE) == [["D5-50c", "Bb4"]]


REFUSALS = [
    ("", "", 0, "There is no note yet"),
    ("| r, r", "", 0, "There is no note yet"),
    ("12: D5, X5", "12", 8, "Bar 12, note 2: “X5”"),
    ("12: D5 | 13: E5~", "13", 16, "a note is missing here"),
    ("D5,,E5", "1", 3, "a note is missing here"),
    ("D", "1", 0, "There is no octave number"),
    ("D5 (0)", "1", 0, "cannot be (0) long"),
    ("D5 (fast)", "1", 0, "is no length"),
    ("D5 (1/4", "1", 0, "“(” is not closed"),
    ('D5 "slap', "1", 0, '“"” is not closed'),
    ("tr D5", "1", 3, "two notes with a stroke"),
    ("tr D5/E5/F5", "1", 3, "two notes with a stroke"),
    ("440 Hz", "1", 0, "written notes and no frequencies"),
    ("%", "1", 0, "no bar before it"),
    ("D5 | %900", "2", 5, "1 to 200 times"),
    ("D5~r", "1", 3, "a slur joins two notes"),
    ("r~D5", "1", 2, "a slur joins two notes"),
    ("~D5", "1", 1, "a slur joins two notes"),
    ("D5 & ", "1", 5, "a note is missing here"),
    ("D5 | %200" + " | %200" * 120, "20002", None, "at most 20,000 notes"),
]


@pytest.mark.parametrize(("text", "bar", "position", "words"), REFUSALS)
def test_a_refusal_names_the_place_and_says_what_to_do(
    text: str, bar: str, position: int | None, words: str
) -> None:
    with pytest.raises(UnreadableTypedPart) as refusal:
        parse_typed_part(text)
    assert words in str(refusal.value)
    assert str(refusal.value).endswith((".", "?", "E5", "Hz."))
    if position is not None:
        assert (refusal.value.bar, refusal.value.position) == (bar, position)


def test_a_text_beyond_all_measure_is_refused_at_once() -> None:
    with pytest.raises(UnreadableTypedPart, match="two parts"):
        parse_typed_part("D5," * MOST_CHARACTERS)


# --- there and back

ALTERS = ("0", "100", "-100", "50", "-50", "25", "-75", "50/3", "-341/10")
WRITTEN = st.builds(
    WrittenPitch,
    st.sampled_from("CDEFGAB"),
    st.sampled_from(["0", "100", "-100", "50", "-50", "25", "-75", "50/3", "-341/10"]).map(
        Fraction
    ),
    st.integers(2, 6),
)
LENGTHS = st.sampled_from(
    [Fraction(1), Fraction(1, 2), Fraction(3, 4), Fraction(1, 3), Fraction(5)]
)
WORDS = st.lists(st.sampled_from(["slap", "pp", "a, b | c", "1/4 = 60", "ff"]), max_size=2).map(
    tuple
)
FINGERINGS = st.sampled_from(["", "T R 123 | -2-", "12, 3~4"])


@st.composite
def typed_notes(draw: st.DrawFn) -> TypedNote:
    kind = draw(st.sampled_from(["note", "note", "rest", "grace", "chord", "tr", "trem"]))
    length = draw(LENGTHS)
    words = draw(WORDS)
    if kind == "rest":
        return TypedNote((), length, words=words)
    count = 3 if kind == "chord" else 1
    found = draw(st.lists(WRITTEN, min_size=count, max_size=count))
    is_pair = kind in ("tr", "trem")
    trill = TrillKind.TRILL if kind == "tr" else TrillKind.TREMOLO
    return TypedNote(
        tuple(sorted(found, key=lambda pitch: pitch.cents)),
        Fraction(0) if kind == "grace" else length,
        is_slurred=draw(st.booleans()),
        is_grace=kind == "grace",
        trill_kind=trill if is_pair else None,
        trill_to=draw(WRITTEN) if is_pair else None,
        fingering=draw(FINGERINGS),
        words=words,
    )


@st.composite
def typed_parts(draw: st.DrawFn) -> tuple[TypedBar, ...]:
    bars = [
        TypedBar(label, tuple(draw(st.lists(typed_notes(), min_size=1, max_size=4))))
        for label in draw(
            st.lists(st.sampled_from(["1", "12", "X1", "7b"]), min_size=1, max_size=4)
        )
    ]
    first = TypedBar("1", (TypedNote((WrittenPitch.from_canonical("D5"),), Fraction(1)),))
    return tuple(_slur_notes_only([first, *bars]))


def _slur_notes_only(bars: list[TypedBar]) -> Iterator[TypedBar]:
    """No slur leads from a rest."""
    follows_note = False
    for bar in bars:
        notes = []
        for note in bar.notes:
            notes.append(replace(note, is_slurred=note.is_slurred and follows_note))
            follows_note = bool(note.pitches)
        yield replace(bar, notes=tuple(notes))


@given(typed_parts(), st.sampled_from(list(NoteNames)))
def test_what_is_written_is_read_back_exactly(bars: tuple[TypedBar, ...], names: NoteNames) -> None:
    assert parse_typed_part(write_typed_part(bars, names=names), names=names) == bars


@given(typed_parts())
def test_a_typed_part_is_read_like_a_file_without_any_doubt_of_pitch(
    bars: tuple[TypedBar, ...],
) -> None:
    part = read_part(to_transcript(bars), ReadingSettings(transposition_cents=-200))
    typed = [note for bar in bars for note in bar.notes if note.pitches]
    assert [note.written for note in part.notes] == [note.pitches[0] for note in typed]
    assert [note.duration for note in part.notes] == [note.length for note in typed]
    assert [note.trill_to for note in part.notes] == [note.trill_to for note in typed]
    assert [note.is_slurred for note in part.notes][1:] == [note.is_slurred for note in typed][1:]
    assert all(note.flags == () for note in part.notes)
    assert {each.topic.value for each in part.questions} <= {"tempo"}


@given(st.text(alphabet='DEF5b#/&~|,:%()[]"rtg +-12', max_size=60))
def test_no_text_ends_in_anything_but_a_part_or_a_refusal(text: str) -> None:
    try:
        bars = parse_typed_part(text)
    except UnreadableTypedPart as refusal:
        assert 0 <= refusal.position <= len(text)
    else:
        assert parse_typed_part(write_typed_part(bars)) == bars
