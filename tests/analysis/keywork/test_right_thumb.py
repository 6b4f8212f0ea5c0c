"""What the right thumb does: which keys it presses, what hands then hold, how it is written."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.keywork import (
    ImpossibleFingering,
    KeyStates,
    Layout,
    LayoutError,
    RightThumb,
    State,
    assess_ease,
    assign_fingers,
    check_playable,
    customise,
    find_conflicts,
    format_fingering,
    layout_ids,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
    read_layout,
    right_thumb_choices,
    write_layout,
)
from tests.analysis.keywork.strategies import fingerings_of
from tests.thinning import each_daily, every_daily, examples

BASS = load_layout("bass-low-c")
LOW_C, SIDE_KEYS = "T 123 | 123 | thumb low C", "T R 123 | 1-- | side 3, side 4"


def bass(thumb: RightThumb) -> Layout:
    return customise(BASS, right_thumb=thumb)


def can_hold(layout: Layout, text: str) -> bool:
    return not find_conflicts(parse_fingering(text, layout))


@pytest.mark.parametrize(
    ("thumb", "low_c", "side_keys"),
    [
        (RightThumb.CARRIES, False, False),
        (RightThumb.SHARES, True, False),
        (RightThumb.OWN_KEYS, True, False),
        (RightThumb.FREE, True, True),
    ],
)
def test_what_a_bass_player_can_hold(thumb: RightThumb, low_c: bool, side_keys: bool) -> None:
    assert can_hold(bass(thumb), LOW_C) is low_c
    assert can_hold(bass(thumb), SIDE_KEYS) is side_keys
    # The first finger still gets at the side keys when it leaves its hole.
    assert can_hold(bass(thumb), "T R 12- | --- | side 3, side 4")


def test_the_reason_names_the_thumb() -> None:
    with pytest.raises(ImpossibleFingering) as low:
        check_playable(parse_fingering(LOW_C, bass(RightThumb.CARRIES)))
    assert low.value.reasons == (
        "The right thumb carries the instrument, so no finger reaches the thumb low C key.",
    )
    carried = find_conflicts(parse_fingering(SIDE_KEYS, bass(RightThumb.SHARES)))
    assert carried[0].reason == (
        "The right first finger can't hold its hole and the side 3 key (the right thumb carries "
        "the instrument)."
    )
    own = find_conflicts(parse_fingering(SIDE_KEYS, bass(RightThumb.OWN_KEYS)))
    assert "(the right thumb works its own keys only)" in own[0].reason
    assert {one.thumb for one in own} == {RightThumb.OWN_KEYS}


def test_a_conflict_that_no_thumb_could_help_does_not_name_it() -> None:
    held = parse_fingering("T R 123 | 123 | left F#, left low D", bass(RightThumb.CARRIES))
    assert [one.thumb for one in find_conflicts(held)] == [None]


def test_ordinary_fingerings_that_need_the_thumb_go_and_the_range_stays() -> None:
    carrying = bass(RightThumb.CARRIES)
    notes = {one.written.canonical for one in ordinary_fingerings(carrying)}
    assert not {"C3", "C#3"} & notes
    assert {"D3", "Eb3"} <= notes
    assert carrying.lowest == BASS.lowest, "the keys are there"
    assert carrying.keys == BASS.keys
    assert ordinary_fingerings(bass(RightThumb.SHARES))


def test_choices_are_numbered_anew_where_the_first_goes() -> None:
    every = customise(BASS, without=frozenset(), right_thumb=RightThumb.CARRIES)
    texts = {
        one.choice: format_fingering(one.fingering)
        for one in ordinary_fingerings(every)
        if one.written.canonical == "C3"
    }
    assert texts == {1: "T 123 | 123 | left low C", 2: "T 123 | 123 | right low C"}


@pytest.mark.parametrize(
    ("layout_id", "choices"),
    [
        ("soprano-17-6", ""),
        ("alto-low-eb", ""),
        ("bass-low-eb", "carries free"),
        ("bass-low-c", "carries shares own-keys free"),
        ("basset-clarinet-low-c", "carries shares free"),
    ],
)
def test_only_what_makes_a_difference_can_be_chosen(layout_id: str, choices: str) -> None:
    layout = load_layout(layout_id)
    assert " ".join(right_thumb_choices(layout)) == choices
    assert not choices or layout.right_thumb in right_thumb_choices(layout)


# Common practice, from memory.
def test_what_is_usual() -> None:
    usual = {layout_id: load_layout(layout_id).right_thumb for layout_id in layout_ids()}
    assert usual["soprano-17-6"] is usual["soprano-20-7"] is RightThumb.CARRIES
    assert usual["basset-clarinet-low-c"] is RightThumb.SHARES
    assert usual["bass-low-eb"] is usual["contra-low-c"] is RightThumb.FREE


@pytest.mark.parametrize("layout_id", every_daily(3, layout_ids()))
def test_hands_hold_every_ordinary_fingering_whatever_the_thumb_does(layout_id: str) -> None:
    for thumb in RightThumb:
        layout = customise(load_layout(layout_id), right_thumb=thumb)
        for one in ordinary_fingerings(layout):
            assert not find_conflicts(one.fingering), one


@settings(max_examples=examples(30))
@given(st.sampled_from(RightThumb), fingerings_of(BASS))
def test_a_freer_thumb_holds_whatever_a_bound_one_holds(
    thumb: RightThumb, fingering: KeyStates
) -> None:
    held = KeyStates(bass(thumb), fingering.states)
    if not find_conflicts(held):
        assert not find_conflicts(KeyStates(bass(RightThumb.FREE), fingering.states))
    else:
        assert assess_ease(held).figure == 0
    assert list(assign_fingers(held)) == [
        key for key in BASS.keys if fingering.state(key.id) is not State.UP
    ]


@pytest.mark.parametrize(
    ("layout", "thumb"),
    each_daily([BASS, load_layout("basset-clarinet-low-c")], list(RightThumb)),
)
def test_it_is_written_and_read_again(thumb: RightThumb, layout: Layout) -> None:
    made = customise(layout, without=layout.without, right_thumb=thumb)
    text = write_layout(made)
    assert read_layout(text) == made
    is_usual = thumb is layout.right_thumb
    assert (made == layout) is is_usual
    assert (made.customisation == "") is is_usual
    assert ("[instrument]" in text) is not is_usual


def test_a_layout_that_says_nothing_leaves_the_thumb_free() -> None:
    text = write_layout(BASS)
    assert "right_thumb" not in text, "texts that are kept stay as they are"
    assert read_layout(text).right_thumb is RightThumb.FREE
    with pytest.raises(LayoutError, match="right_thumb"):
        read_layout(text.replace("together =", 'right_thumb = "tired"\ntogether =', 1))
