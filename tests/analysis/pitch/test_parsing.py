"""Reading what players type: what is understood, what is asked back, what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.pitch import (
    AmbiguousPitch,
    Frequency,
    JustInterval,
    JustTarget,
    NoteNames,
    PitchRequest,
    UnreadablePitch,
    WrittenPitch,
    parse_pitch,
)
from tests.analysis.pitch.strategies import written_pitches
from tests.steady_examples import any_text

ENGLISH, GERMAN, ROMANCE = NoteNames

# Which notes are meant is common practice, from memory, in all tables of this module.
ENGLISH_NOTES = {
    "D5": "D5", "d5": "D5", "a3": "A3", "A3": "A3", " D 5 ": "D5", "D♮5": "D5", "D natural 5": "D5",
    "C#5": "C#5", "C♯5": "C#5", "c sharp 5": "C#5", "C-sharp 5": "C#5", "csharp5": "C#5",
    "Db5": "Db5", "D♭5": "Db5", "DB5": "Db5", "D flat 5": "Db5",
    "Bb4": "Bb4", "bb4": "Bb4", "BB4": "Bb4", "B4": "B4", "A flat 4": "Ab4",
    "Cx5": "C##5", "C##5": "C##5", "C𝄪5": "C##5", "Dbb5": "Dbb5", "D double flat 5": "Dbb5",
    "D quarter-flat 5": "D5-50c", "D quarter flat 5": "D5-50c", "D Quarter-Flat 5": "D5-50c",
    "Dqf5": "D5-50c", "D qf 5": "D5-50c", "D𝄳5": "D5-50c", "D𝄲5": "D5+50c",
    "D half-flat 5": "D5-50c", "D quarter-tone flat 5": "D5-50c", "D5 quarter-flat": "D5-50c",
    "C three-quarters-sharp 5": "C#5+50c", "Ctqs5": "C#5+50c", "E three quarter flat 5": "Eb5-50c",
    "D eighth-flat 5": "D5-25c",
    "D5 -50": "D5-50c", "D5-50": "D5-50c", "D5 −50": "D5-50c", "D5 – 50 c": "D5-50c",
    "D5 -50 ct": "D5-50c", "D5 -50 cents": "D5-50c", "D5 -50¢": "D5-50c", "C#5+50c": "C#5+50c",
    "D5 +12,5": "D5+25/2c", "D5 +12.5": "D5+25/2c", "D5 +16 2/3 c": "D5+50/3c",
    "D5+50/3c": "D5+50/3c", "D5, 50 cents lower": "D5-50c", "D5 50 cents flat": "D5-50c",
    "A4 20 cents sharp": "A4+20c", "D5, a quarter tone lower": "D5-50c",
    "D 50 cents lower 5": "D5-50c", "D5 +0": "D5", "D5 50 cents above": "D5+50c",
    "D5 -100": "C#5", "C5 +350": "E5-50c", "Ｄ５": "D5", "D₅": "D5",
    "quarter tone above C#5": "C#5+50c", "a quarter-tone above C#5": "C#5+50c",
    "50 cents above C#5": "C#5+50c", "50c above c#5": "C#5+50c", "50 above C#5": "C#5+50c",
    "50 cents over C#5": "C#5+50c", "25 cents below D5": "D5-25c", "50 cents under D5": "D5-50c",
    "an eighth tone below D5": "D5-25c", "a sixth tone above D5": "D5+100/3c",
    "three quarter tones above C5": "D5-50c", "a semitone above E5": "F5",
    "a quarter tone lower than D5": "D5-50c", "50/3 cents above D5": "D5+50/3c",
    "16 2/3 above D5": "D5+50/3c", "a quarter tone above D quarter-flat 5": "D5",
}  # fmt: skip

GERMAN_NOTES = {
    "D5": "D5", "Des5": "Db5", "des 5": "Db5", "H4": "B4", "h4": "B4", "B4": "Bb4", "b4": "Bb4",
    "Es5": "Eb5", "As4": "Ab4", "Asas4": "Abb4", "Ases4": "Abb4", "Heses4": "Bbb4", "His4": "B#4",
    "Fis4": "F#4", "Fisis4": "F##4", "Gis4": "G#4", "Db5": "Db5", "D♭5": "Db5", "F#4": "F#4",
    "Hb4": "Bb4", "A flat 4": "Ab4", "D quarter-flat 5": "D5-50c", "H4 -50": "B4-50c",
    "B4 −50 c": "Bb4-50c", "D5, Viertelton tiefer": "D5-50c", "D Viertelton tiefer 5": "D5-50c",
    "Cis5, Viertelton hoeher": "C#5+50c", "Cis5 12,5 Cent höher": "C#5+25/2c",
    "50 Cent über Cis5": "C#5+50c", "Viertelton ueber Cis5": "C#5+50c",
    "ein Achtelton unter D5": "D5-25c", "um einen Viertelton höher als Cis5": "C#5+50c",
    "Halbton über H4": "C5",
}  # fmt: skip

ROMANCE_NOTES = {
    "ré5": "D5", "re5": "D5", "re\u0301 5": "D5", "RÉ 5": "D5", "ut5": "C5", "ré bémol 5": "Db5",
    "re bemol 5": "Db5", "fa#4": "F#4", "fa♯4": "F#4", "do dièse 5": "C#5", "si♭4": "Bb4",
    "sib4": "Bb4", "lab4": "Ab4", "sol4": "G4", "do diesis 5": "C#5", "si bemolle 4": "Bb4",
    "fa sostenido 4": "F#4", "mi demi-bémol 5": "E5-50c", "ré bécarre 5": "D5",
    "ré quart de ton plus bas 5": "D5-50c", "ré5, quart de ton plus bas": "D5-50c",
    "ré5, 12,5 cents plus haut": "D5+25/2c", "ré5 -50": "D5-50c",
    "50 cents au-dessus de do#5": "C#5+50c", "un quart de ton au-dessus de do dièse 5": "C#5+50c",
    "quart de ton au-dessous de ré5": "D5-50c", "un quarto di tono sopra do#5": "C#5+50c",
    "50 cents debajo de re5": "D5-50c", "A4": "A4", "Bb4": "Bb4",
}  # fmt: skip

NOTES = [
    (names, text, canonical)
    for names, table in ((ENGLISH, ENGLISH_NOTES), (GERMAN, GERMAN_NOTES), (ROMANCE, ROMANCE_NOTES))
    for text, canonical in table.items()
]


@pytest.mark.parametrize(("names", "text", "canonical"), NOTES)
def test_notes_are_read_as_players_type_them(names: NoteNames, text: str, canonical: str) -> None:
    assert parse_pitch(text, names=names) == WrittenPitch.from_canonical(canonical)


@given(written_pitches)
def test_every_stored_pitch_can_be_typed(written: WrittenPitch) -> None:
    assert parse_pitch(written.canonical) == written


@given(written_pitches)
def test_case_makes_no_difference(written: WrittenPitch) -> None:
    assert parse_pitch(written.canonical.lower()) == parse_pitch(written.canonical.upper())


@pytest.mark.parametrize(
    ("text", "hz"),
    [
        ("566.2 Hz", 566.2),
        ("566,2 hz", 566.2),
        ("566.2hertz", 566.2),
        ("440HZ", 440.0),
        ("1.2 kHz", 1200.0),
    ],
)
def test_frequencies_are_read(text: str, hz: float) -> None:
    assert parse_pitch(text) == Frequency(hz)


@pytest.mark.parametrize(
    ("names", "text", "root", "ratio"),
    [
        (ENGLISH, "a major third above F4", "F4", (5, 4)),
        (ENGLISH, "5:4 above F4", "F4", (5, 4)),
        (ENGLISH, "6/5 over A4", "A4", (6, 5)),
        (ENGLISH, "just minor third above Bb3", "Bb3", (6, 5)),
        (ENGLISH, "Perfect Fifth below D5", "D5", (2, 3)),
        (ENGLISH, "11:8 above D quarter-flat 4", "D4-50c", (11, 8)),
        (GERMAN, "große Terz über F4", "F4", (5, 4)),
        (GERMAN, "GROSSE TERZ ÜBER B3", "Bb3", (5, 4)),
        (GERMAN, "eine reine Quinte unter H4", "B4", (2, 3)),
        (ROMANCE, "une tierce majeure au-dessus de fa4", "F4", (5, 4)),
        (ROMANCE, "quinte juste au-dessous du ré5", "D5", (2, 3)),
        (ROMANCE, "terza minore sopra la4", "A4", (6, 5)),
    ],
)
def test_just_intervals_from_a_root_are_read(
    names: NoteNames, text: str, root: str, ratio: tuple[int, int]
) -> None:
    expected = JustTarget(WrittenPitch.from_canonical(root), JustInterval(*ratio))
    assert parse_pitch(text, names=names) == expected


QUESTIONS = [
    (ENGLISH, "D", "no octave", ("D4", "D5", "D6")),
    (ENGLISH, "c", "no octave", ("C4", "C5", "C6", "C7")),
    (ENGLISH, "E", "no octave", ("E3", "E4", "E5", "E6")),
    (ENGLISH, "Dqf", "no octave", ("D4-50c", "D5-50c", "D6-50c")),
    (ENGLISH, "D -50", "no octave", ("D4-50c", "D5-50c", "D6-50c")),
    (ENGLISH, "D-5", "no octave", ("D5", "D4-5c", "D5-5c", "D6-5c")),
    (ENGLISH, "D-flat-5", "no octave", ("Db5", "Db4-5c", "Db5-5c", "Db6-5c")),
    (ENGLISH, "50 cents above D", "no octave", ("D4+50c", "D5+50c", "D6+50c")),
    (ENGLISH, "D5 50", "no sign", ("D5+50c", "D5-50c")),
    (ENGLISH, "D5, 20 cents", "no sign", ("D5+20c", "D5-20c")),
    (GERMAN, "B", "no octave", ("Bb3", "Bb4", "Bb5", "Bb6")),
    (GERMAN, "Bb4", "^Which is meant: B4 or Heses4", ("Bb4", "Bbb4")),
    (GERMAN, "B♭4", "^Which is meant: B4 or Heses4", ("Bb4", "Bbb4")),
    (GERMAN, "Bes4", "^Which is meant", ("Bb4", "Bbb4")),
    (GERMAN, "B flat 4", "^Which is meant", ("Bb4", "Bbb4")),
    (GERMAN, "B#4", "^Which is meant", ("B#4", "B4")),
    (GERMAN, "B♮4", "^Which is meant: H4 or B4", ("B4", "Bb4")),
    (GERMAN, "Bqf4", "^Which is meant", ("B4-50c", "Bb4-50c")),
    (ROMANCE, "la", "no octave", ("A3", "A4", "A5", "A6")),
]


def read_as_written(text: str, names: NoteNames) -> str:
    request = parse_pitch(text, names=names)
    assert isinstance(request, WrittenPitch)
    return request.canonical


@pytest.mark.parametrize(("names", "text", "reason", "meanings"), QUESTIONS)
def test_doubtful_text_is_asked_back(
    names: NoteNames, text: str, reason: str, meanings: tuple[str, ...]
) -> None:
    with pytest.raises(AmbiguousPitch, match=rf"{reason}.*\?$") as caught:
        parse_pitch(text, names=names)
    found = tuple(read_as_written(candidate, names) for candidate in caught.value.candidates)
    assert found == meanings


def test_a_root_without_octave_is_asked_back_inside_its_sentence() -> None:
    with pytest.raises(AmbiguousPitch, match="no octave") as caught:
        parse_pitch("a major third above F")
    assert caught.value.candidates == tuple(f"a major third above F{octave}" for octave in "3456")


@pytest.mark.parametrize(
    ("names", "text", "candidates"),
    [
        (
            ENGLISH,
            "a third above F4",
            ("minor third above F4", "neutral third above F4", "major third above F4"),
        ),
        (
            GERMAN,
            "Terz über F4",
            ("kleine Terz über F4", "neutrale Terz über F4", "große Terz über F4"),
        ),
    ],
)
def test_a_bare_degree_is_asked_back(
    names: NoteNames, text: str, candidates: tuple[str, ...]
) -> None:
    with pytest.raises(AmbiguousPitch, match=r"^Which is meant: .*\?$") as caught:
        parse_pitch(text, names=names)
    assert caught.value.candidates == candidates


def test_a_bare_number_is_asked_back_as_a_frequency() -> None:
    with pytest.raises(AmbiguousPitch, match=r"440 of what\?") as caught:
        parse_pitch("440")
    assert caught.value.candidates == ("440 Hz",)


@pytest.mark.parametrize(
    ("text", "position", "reason"),
    [
        ("", 0, "Nothing was typed"),
        ("   ", 3, "Nothing was typed"),
        ("xyz", 0, "'xyz' does not begin with a note name"),
        ("D5 foo", 3, "cannot be read as a pitch from 'foo' on"),
        ("D5.5", 2, "from '.5' on"),
        ("Dbb#5", 3, "from '#5' on"),
        ("D12", 1, "'12' is no octave"),
        ("D550", 1, "cents take a sign"),
        ("c''", 1, "middle C .* is C4"),
        ("A,", 1, "Octaves are numbers here"),
        ("50 cents above", 0, "not from which note"),
        ("50 cents above xyz", 15, "from 'xyz' on"),
        ("100 Hz above C5", 0, "'100 Hz' is no distance and no interval"),
        ("C5 above D5", 0, "'C5' is no distance and no interval"),
        ("D flat flat", 7, "from 'flat' on"),
        ("1 Hz", 0, "Give 8 to 20,000 Hz"),
        ("99999 Hz", 0, "Give 8 to 20,000 Hz"),
        ("D9 +5000", 0, "Octaves run from 0 to 9"),
        ("0:4 above F4", 0, "Both numbers must lie"),
        ("5", 0, "does not begin with a note name"),
        ("D5" + " " * 100, 100, "at most 100"),
    ],
)
def test_unreadable_text_is_refused_at_the_right_place(
    text: str, position: int, reason: str
) -> None:
    with pytest.raises(UnreadablePitch, match=reason) as caught:
        parse_pitch(text)
    assert (caught.value.text, caught.value.position) == (text, position)


@pytest.mark.parametrize(
    ("names", "example"), [(ENGLISH, "Bb4"), (GERMAN, "Des5"), (ROMANCE, "si bémol 4")]
)
def test_a_refusal_gives_examples_in_the_language_of_the_names(
    names: NoteNames, example: str
) -> None:
    with pytest.raises(UnreadablePitch, match=rf"Write for example .*{example}"):
        parse_pitch("xyz", names=names)


@pytest.mark.parametrize(
    ("names", "text", "hint"),
    [
        (ENGLISH, "H4", "In German ones it means 'B4'"),
        (ENGLISH, "Des5", "In German ones it means 'D flat 5'"),
        (ENGLISH, "sol4", "change the note names to Romance"),
        (ENGLISH, "H", "only be read with German note names"),
        (ENGLISH, "große Terz über F4", "only be read with German note names"),
        (GERMAN, "ré5", r"In Romance \(do re mi\) ones it means 'D5'"),
        (ROMANCE, "Des5", "In German ones it means 'ré bémol 5'"),
    ],
)
def test_names_of_another_language_are_refused_with_the_setting_to_change(
    names: NoteNames, text: str, hint: str
) -> None:
    with pytest.raises(UnreadablePitch, match=hint):
        parse_pitch(text, names=names)


def test_a_name_altered_twice_is_refused() -> None:
    with pytest.raises(UnreadablePitch, match="alters the note name twice") as caught:
        parse_pitch("Desb5", names=GERMAN)
    assert caught.value.position == 3


WORDS = (
    "D b H es ré la # ♭ 𝄳 5 50 - − + , . / : ' c cents Hz above über sous a quarter flat tone "
    "third major Viertelton tiefer bas é ½ \u0301"
)
FRAGMENTS = st.sampled_from([*WORDS.split(), " ", "\n"])


def collect_meanings(text: str, names: NoteNames) -> tuple[PitchRequest, ...]:
    """Read a text, following a question to all its candidates, which must each be clear."""
    try:
        return (parse_pitch(text, names=names),)
    except AmbiguousPitch as question:
        assert question.candidates
        return tuple(parse_pitch(candidate, names=names) for candidate in question.candidates)


@given(st.lists(FRAGMENTS, max_size=10).map("".join) | any_text(), st.sampled_from(NoteNames))
def test_any_text_is_read_asked_back_or_refused(text: str, names: NoteNames) -> None:
    try:
        meanings = collect_meanings(text, names)
    except UnreadablePitch as refusal:
        assert 0 <= refusal.position <= len(refusal.text)
        return
    assert len(set(meanings)) == len(meanings)
