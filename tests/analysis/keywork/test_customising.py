"""One player's instrument: keys switched off and on, names of the player's own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.keywork import (
    HoleState,
    KeyNotOptional,
    KeyStates,
    Layout,
    LayoutError,
    UnknownKey,
    UnreadableFingering,
    customise,
    find_conflicts,
    find_hole_states,
    format_fingering,
    load_layout,
    optional_keys,
    ordinary_fingerings,
    parse_fingering,
    spell_out,
)
from tests.analysis.keywork.strategies import LAYOUTS, fingerings_of, name_layout

SOPRANO = load_layout("soprano-17-6")
BASS = load_layout("bass-low-c")


def _texts(layout: Layout, note: str) -> list[str]:
    return [
        format_fingering(one.fingering)
        for one in ordinary_fingerings(layout)
        if one.written.canonical == note
    ]


def customised(layout: Layout) -> st.SearchStrategy[Layout]:
    ids = [key.id for key in optional_keys(layout)]
    chosen = st.frozensets(st.sampled_from(ids)) if ids else st.just(frozenset[str]())
    return chosen.map(lambda without: customise(layout, without=without))


any_customised = st.sampled_from(LAYOUTS).flatmap(customised)


def test_the_instrument_without_a_lever_has_neither_key_nor_fingering() -> None:
    without = customise(load_layout("soprano-20-7"), without=frozenset({"left-ab"}))

    assert not without.has_key("left-ab")
    assert _texts(without, "G#3") == ["T 123 | 123 | G#/Eb"]
    with pytest.raises(UnreadableFingering, match="is no key of"):
        parse_fingering("T 123 | 123 | left G#/Eb", without)


def test_a_key_that_is_not_usual_can_be_fitted() -> None:
    fitted = customise(SOPRANO, without=frozenset())

    assert not SOPRANO.has_key("left-ab")
    assert fitted.has_key("left-ab")
    assert _texts(fitted, "G#3") == ["T 123 | 123 | G#/Eb", "T 123 | 123 | left G#/Eb"]
    assert find_hole_states(parse_fingering("--- | --- | left Ab", fitted))["gs-eb"] is (
        HoleState.OPEN
    )


def test_the_next_choice_takes_the_place_of_a_missing_one() -> None:
    left_only = customise(BASS, without=BASS.without | {"right-d"})
    thumb_c_missing = customise(BASS, without=BASS.usual_without - {"left-c"} | {"thumb-c"})

    assert _texts(left_only, "D3") == ["T 123 | 123 | left low D"]
    assert [one.choice for one in ordinary_fingerings(left_only)].count(1) == 40
    assert _texts(thumb_c_missing, "C3") == ["T 123 | 123 | left low C"]


def test_the_lowest_note_rises_when_its_last_key_is_missing() -> None:
    to_c_sharp = customise(BASS, without=BASS.without | {"thumb-c"})

    assert (BASS.lowest.canonical, to_c_sharp.lowest.canonical) == ("C3", "C#3")
    assert customise(to_c_sharp).lowest == BASS.lowest


def test_the_drawing_ends_below_the_last_key_that_is_there() -> None:
    with_right_c = customise(BASS, without=BASS.without - {"right-c"})
    heights = [layout.view_box[3] for layout in (BASS.complete, BASS, with_right_c)]

    assert heights == [468, 435, 468]


def test_customising_again_starts_from_every_declared_key() -> None:
    once = customise(BASS, without=frozenset({"left-eb", "left-d"}))

    assert customise(once, without=frozenset()) == BASS.complete
    assert customise(once) == BASS
    assert customise(once) is not once


def test_the_tag_tells_customised_instruments_apart() -> None:
    without = frozenset({"left-eb", "left-d"})
    one = customise(BASS, without=without)
    same = customise(BASS, without=frozenset(sorted(without, reverse=True)))
    named = customise(BASS, without=without, names={"side-4": "high trill"})

    assert BASS.customisation == ""
    assert one.customisation == same.customisation == '[["left-d", "left-eb"], {}]'
    assert (one, hash(one)) == (same, hash(same))
    assert len({BASS, one, named}) == 3
    assert KeyStates.of(one, {}) != KeyStates.of(BASS, {})


def test_a_name_of_the_players_own_is_shown_and_understood() -> None:
    mine = customise(SOPRANO, names={"left-cross": " banana key "})
    held = parse_fingering("T 12- | --- | banana key", mine)

    assert spell_out(held) == "thumb; left 1 2, banana key"
    assert format_fingering(held) == "T 12- | --- | left cross"
    assert parse_fingering("T 12- | --- | left cross key", mine) == held


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("right E", "'right E' already means the right E key"),
        ("Throat  a KEY", "already means the throat A key"),
        ("1-2", "reads as a hand's holes"),
        ("a|b", "one of |"),
        ("   ", "can be printed"),
        ("bell\a", "can be printed"),
        ("x" * 61, "up to 60 characters"),
    ],
)
def test_a_name_that_cannot_be_used_is_refused(name: str, message: str) -> None:
    with pytest.raises(LayoutError) as caught:
        customise(SOPRANO, names={"left-cross": name})

    assert message in str(caught.value)
    assert "key 'left-cross'" in caught.value.place


def test_two_keys_cannot_have_one_name() -> None:
    with pytest.raises(LayoutError, match="'trill' already means 'side-3'"):
        customise(SOPRANO, names={"side-3": "trill", "side-4": "trill"})


def test_only_optional_keys_can_be_switched_off() -> None:
    with pytest.raises(KeyNotOptional, match=r"register key can't be switched off.*Eb|lever"):
        customise(SOPRANO, without=frozenset({"register"}))
    with pytest.raises(UnknownKey, match="no key 'spring'"):
        customise(SOPRANO, without=frozenset({"spring"}))
    with pytest.raises(UnknownKey, match="no key 'spring'"):
        customise(SOPRANO, names={"spring": "x"})


@given(any_customised)
def test_every_customised_instrument_is_whole(layout: Layout) -> None:
    ids = {key.id for key in layout.keys}

    assert all(pair <= ids for pair in layout.together)
    assert [hole.id for hole in layout.holes] == [hole.id for hole in layout.complete.holes]
    assert find_hole_states(KeyStates.of(layout, {}))
    scale = ordinary_fingerings(layout)
    assert scale[0].written == layout.lowest
    assert all(find_conflicts(one.fingering) == () for one in scale)
    bottom = max(key.hit.y + key.hit.height for key in layout.keys)
    assert bottom <= layout.view_box[1] + layout.view_box[3]


@given(any_customised.flatmap(fingerings_of))
def test_the_text_form_is_exact_on_every_customised_instrument(fingering: KeyStates) -> None:
    text = format_fingering(fingering)

    assert parse_fingering(text, fingering.layout) == fingering
    # The full instrument reads the same text: nothing is lost when a key is fitted later.
    complete = parse_fingering(text, fingering.layout.complete)
    assert {key.id for key in complete.pressed} == {key.id for key in fingering.pressed}


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_the_holes_of_a_fingering_do_not_depend_on_keys_that_are_not_pressed(
    layout: Layout,
) -> None:
    for one in ordinary_fingerings(layout):
        complete = parse_fingering(format_fingering(one.fingering), layout.complete)
        assert find_hole_states(complete) == find_hole_states(one.fingering)
