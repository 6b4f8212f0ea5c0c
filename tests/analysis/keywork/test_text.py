"""The text form: exact both ways, generous to typing, and errors that point at the character.

The grammar is the project's own; that a fingering is written as thumb, register, left 1 2 3, bar,
right 1 2 3 with dashes for open holes is common practice, from memory.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.keywork import (
    KeyStates,
    Layout,
    State,
    UnreadableFingering,
    format_fingering,
    load_layout,
    parse_fingering,
    typed_names,
)
from tests.analysis.keywork.strategies import EVERY, any_fingering

SOPRANO = load_layout("soprano-17-6")
BASS = load_layout("bass-low-c")


@given(any_fingering)
def test_every_state_of_every_layout_reads_back_exactly(fingering: KeyStates) -> None:
    text = format_fingering(fingering)

    assert parse_fingering(text, fingering.layout) == fingering
    assert format_fingering(parse_fingering(text, fingering.layout)) == text


@given(any_fingering)
def test_capitals_spaces_and_commas_make_no_difference(fingering: KeyStates) -> None:
    text = format_fingering(fingering)

    assert parse_fingering(text.lower(), fingering.layout) == fingering
    assert parse_fingering(text.upper(), fingering.layout) == fingering
    assert parse_fingering(text.replace(" | ", ","), fingering.layout) == fingering
    assert parse_fingering("  " + text.replace(" ", "  ") + " ", fingering.layout) == fingering


@given(st.text(alphabet="TRtr123-()½|,+; abceghilrsiwd#♯–", max_size=30))
def test_any_text_is_a_fingering_or_an_error_inside_the_text(text: str) -> None:
    try:
        fingering = parse_fingering(text, SOPRANO)
    except UnreadableFingering as error:
        assert 0 <= error.position <= len(text)
    else:
        assert parse_fingering(format_fingering(fingering), SOPRANO) == fingering


@pytest.mark.parametrize(
    ("states", "text"),
    [
        ({}, "--- | ---"),
        ({"register": State.DOWN}, "R --- | ---"),
        ({"thumb": State.SHADED, "l1": State.SHADED}, "(T) (1)-- | ---"),
        ({"right-e": State.DOWN, "left-fs": State.DOWN}, "--- | --- | left F#, right E"),
        ({"thumb": State.DOWN, "register": State.DOWN, "r2": State.DOWN}, "T R --- | -2-"),
    ],
)
def test_states_are_written_in_the_canonical_form(states: dict[str, State], text: str) -> None:
    assert format_fingering(KeyStates.of(SOPRANO, states)) == text


@pytest.mark.parametrize(
    ("typed", "canonical"),
    [
        ("T R 123 | 12- | low E", "T R 123 | 12- | right E"),
        ("T 123, 123, low E", "T 123 | 123 | right E"),
        ("T R 123 | 123 + low F#, low E", "T R 123 | 123 | left F#, right E"),
        ("T 12–, –––, left cross", "T 12- | --- | left cross"),
        ("TR123|123", "T R 123 | 123"),
        ("R T 1 2 3 | 1 2", "T R 123 | 12-"),
        ("T R 23 | 1", "T R -23 | 1--"),
        ("T R ½23 | 12", "T R (1)23 | 12-"),
        ("T R (1) 23 | ( 2 )", "T R (1)23 | -(2)-"),
        ("T", "T --- | ---"),
        ("T | 12", "T --- | 12-"),
        ("T R, 123, 1", "T R 123 | 1--"),
        ("throat A + register", "R --- | --- | throat A"),
        ("throat A key, side3", "--- | --- | throat A, side 3"),
        ("T 1 | | g♯/e♭ key", "T 1-- | --- | G#/Eb"),
        ("T 123 | 123 |", "T 123 | 123"),
    ],
)
def test_what_players_type_is_understood(typed: str, canonical: str) -> None:
    assert format_fingering(parse_fingering(typed, SOPRANO)) == canonical


def test_the_bass_has_names_of_its_own() -> None:
    assert format_fingering(parse_fingering("T 123, 123, low Eb", BASS)) == (
        "T 123 | 123 | right low Eb"
    )
    assert format_fingering(parse_fingering("T 123, 123, low C", BASS)) == (
        "T 123 | 123 | thumb low C"
    )


@pytest.mark.parametrize(
    ("typed", "position", "message"),
    [
        ("", 0, "there is no fingering here"),
        ("   ", 0, "there is no fingering here"),
        ("T R 12x | 1--", 6, "'x' can't stand in a hand.*T, R, 1, 2, 3, -"),
        ("T R 123 | 21-", 11, "'1' can't stand in a hand"),
        ("T R 123 | 4--", 10, "'4' can't stand in a hand"),
        ("T R 1234", 7, "'4' can't stand in a hand"),
        ("T R ---- | 1", 7, "'-' can't stand in a hand"),
        ("T R 123 | R12", 10, "'R' can't stand in a hand"),
        ("T R 123 T | 1", 8, "'T' can't stand in a hand"),
        ("T T 123 | 1", 2, "left thumb is already named"),
        ("T (1 23 | 1", 2, r"'\(' can't stand in a hand"),
        ("T (12)3 | 1", 2, r"'\(' can't stand in a hand"),
        ("T () | 1", 2, r"'\(' can't stand in a hand"),
        ("T 123 | 123 | rihgt E", 14, "'rihgt E' is no key.*Did you mean 'right E'"),
        ("T 123 | 123 | right E, right E", 23, "right E key is already named"),
        ("T 123 | 123 | (right E)", 14, "right E key can't be shaded"),
        ("(R) 123 | 123", 0, "register key can't be shaded"),
        ("T 123 | 123 | 123", 14, "both hands are already written"),
    ],
)
def test_errors_point_at_the_character(typed: str, position: int, message: str) -> None:
    with pytest.raises(UnreadableFingering, match=message) as caught:
        parse_fingering(typed, SOPRANO)

    assert caught.value.position == position
    assert str(caught.value).startswith(f"At character {position + 1}: ")


def test_a_plate_without_a_hole_cannot_be_shaded() -> None:
    with pytest.raises(UnreadableFingering, match="left second finger can't be shaded") as caught:
        parse_fingering("T 1(2)3 | 123", BASS)

    assert caught.value.position == 3


def test_every_token_and_alias_of_every_layout_is_understood() -> None:
    for layout in EVERY:
        nothing = format_fingering(KeyStates.of(layout, {}))
        for key in layout.extras:
            for name in typed_names(layout, key):
                assert parse_fingering(f"{nothing} | {name}", layout).pressed == (key,)
                assert parse_fingering(name.upper(), layout).pressed == (key,)


# What players call the lowest keys of their instrument: common practice, from memory.
@pytest.mark.parametrize(
    ("layout_id", "typed", "canonical"),
    [
        ("soprano-20-7", "low Eb", "right low Eb"),
        ("basset-horn-low-c", "low D", "thumb low D"),
        ("basset-clarinet-low-c", "low C", "thumb low C"),
        ("alto-low-eb", "low E♭ key", "right low Eb"),
        ("contra-low-c", "low C", "thumb low C"),
        ("soprano-german", "low E", "left E"),
        ("soprano-german", "side key 1", "side Eb"),
        ("bass-low-eb-two-register-keys", "upper register key", "upper register"),
    ],
)
def test_each_layout_has_names_of_its_own(layout_id: str, typed: str, canonical: str) -> None:
    layout = load_layout(layout_id)

    read = parse_fingering(f"T 123, 123, {typed}", layout)

    assert format_fingering(read) == f"T 123 | 123 | {canonical}"


@given(st.sampled_from(EVERY), st.text(alphabet="TRtr123-()½|,+; abceghilrsiwd#♯–", max_size=30))
def test_errors_point_into_the_text_on_every_layout(layout: Layout, text: str) -> None:
    try:
        fingering = parse_fingering(text, layout)
    except UnreadableFingering as error:
        assert 0 <= error.position <= len(text)
    else:
        assert parse_fingering(format_fingering(fingering), layout) == fingering


def test_a_vented_plate_is_written_in_brackets_and_older_texts_are_read() -> None:
    vented = parse_fingering("T R [1]23 | 12-", BASS)

    assert vented.state("l1") is State.VENTED
    assert format_fingering(vented) == "T R [1]23 | 12-"
    for older in ("T R (1)23 | 12-", "T R ½23 | 12", "t r [ 1 ] 23, 12"):
        assert parse_fingering(older, BASS) == vented


def test_a_ring_cannot_be_vented() -> None:
    with pytest.raises(UnreadableFingering, match="left first finger can't be vented") as caught:
        parse_fingering("T R [1]23 | 12-", SOPRANO)

    assert caught.value.position == 4
