"""The clarinet family."""

import pytest

from analysis.pitch import KINDS, UnknownInstrumentKind, WrittenPitch, find_kind

# Written to sounding in cents, and the lowest written note: common practice, from memory.
FAMILY = [
    ("E-flat sopranino", 300, "E3", None),
    ("D", 200, "E3", None),
    ("C", 0, "E3", None),
    ("B-flat soprano", -200, "E3", None),
    ("A soprano", -300, "E3", None),
    ("A basset clarinet", -300, "C3", None),
    ("basset horn in F", -700, "C3", None),
    ("E-flat alto", -900, "Eb3", None),
    ("B-flat bass", -1400, "Eb3", "C3"),
    ("B-flat bass, bass clef", -200, "Eb2", "C2"),
    ("E-flat contra-alto", -2100, "Eb3", "C3"),
    ("B-flat contrabass", -2600, "Eb3", "C3"),
]


@pytest.mark.parametrize(("name", "cents", "lowest", "extended"), FAMILY)
def test_each_member_transposes_as_the_trade_says(
    name: str, cents: int, lowest: str, extended: str | None
) -> None:
    kind = find_kind(name)
    assert kind.transposition.cents == cents
    assert kind.lowest.canonical == lowest
    assert (kind.extended_lowest and kind.extended_lowest.canonical) == extended


def test_the_table_holds_the_whole_family_and_nothing_else() -> None:
    assert [find_kind(row[0]).id for row in FAMILY] == list(KINDS)


def test_the_bass_sounds_the_same_in_both_notations() -> None:
    treble, bass = KINDS["b-flat-bass"], KINDS["b-flat-bass-bass-clef"]
    assert treble.transposition.to_sounding(treble.lowest) == bass.transposition.to_sounding(
        bass.lowest
    )
    assert bass.in_treble_notation(bass.lowest) == treble.lowest
    assert bass.in_treble_notation(bass.ordinary_top) == treble.ordinary_top
    assert treble.in_treble_notation(treble.lowest) == treble.lowest


def test_the_ordinary_top_of_the_soprano_is_g6() -> None:
    # Common practice, from memory.
    assert KINDS["b-flat-soprano"].ordinary_top == WrittenPitch.from_canonical("G6")


@pytest.mark.parametrize("kind_id", KINDS)
def test_every_kind_is_found_by_its_id_name_and_aliases(kind_id: str) -> None:
    kind = KINDS[kind_id]
    assert kind.id == kind_id
    for name in (kind.id, kind.name, *kind.aliases, kind.name.upper(), f"{kind.name} clarinet"):
        assert find_kind(name) is kind


@pytest.mark.parametrize(
    ("text", "kind_id"),
    [
        ("B♭ clarinet", "b-flat-soprano"),
        ("Bb", "b-flat-soprano"),
        ("clarinet in B-flat", "b-flat-soprano"),
        ("clarinet", "b-flat-soprano"),
        ("a clarinet", "a-soprano"),
        ("bass", "b-flat-bass"),
        ("Bass Clarinet", "b-flat-bass"),
        ("E♭ alto clarinet", "e-flat-alto"),
        ("basset horn", "f-basset-horn"),
        ("B-Klarinette", "b-flat-soprano"),
        ("clarinette en la", "a-soprano"),
        ("contra-alto", "e-flat-contra-alto"),
    ],
)
def test_usual_short_names_are_understood(text: str, kind_id: str) -> None:
    assert find_kind(text).id == kind_id


@pytest.mark.parametrize("text", ["", "oboe", "G clarinet", "b flat oboe"])
def test_an_unknown_instrument_is_refused_with_the_list(text: str) -> None:
    with pytest.raises(UnknownInstrumentKind, match=r"Use one of: E-flat sopranino.*contrabass"):
        find_kind(text)
