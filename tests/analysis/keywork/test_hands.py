"""What one finger can't hold at once. Every expected answer is common practice, from memory."""

import pytest

from analysis.keywork import (
    ImpossibleFingering,
    KeyStates,
    Layout,
    State,
    assign_fingers,
    check_playable,
    find_competition,
    find_conflicts,
    find_pairs,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)
from tests.analysis.keywork.strategies import EVERY, name_layout

SOPRANO = load_layout("soprano-17-6")


def _reasons(text: str, layout_id: str = "soprano-17-6") -> list[str]:
    fingering = parse_fingering(text, load_layout(layout_id))
    return [conflict.reason for conflict in find_conflicts(fingering)]


@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_every_ordinary_fingering_can_be_played(layout: Layout) -> None:
    for one in ordinary_fingerings(layout):
        assert find_conflicts(one.fingering) == (), one


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (
            "T 1-- | --- | throat A",
            "The left first finger can't hold its hole and the throat A key.",
        ),
        (
            "T (1)-- | --- | throat G#",
            "The left first finger can't hold its hole and the throat G sharp key.",
        ),
        (
            "T 123 | 1-- | side 1",
            "The right first finger can't hold its hole and the side 1 key.",
        ),
        (
            "--- | --- | side 1, side 4",
            "The right first finger can't hold the side 1 key and the side 4 key.",
        ),
        (
            "--- | --- | C#/G#, left E",
            "The left little finger can't hold the C sharp/G sharp key and the left E key.",
        ),
    ],
)
def test_an_impossible_state_is_named_in_one_sentence(text: str, reason: str) -> None:
    assert _reasons(text) == [reason]


@pytest.mark.parametrize(
    "text",
    [
        "T R --- | ---",
        "--- | --- | throat A, throat G#",
        "--- | --- | side 3, side 4",
        "T 123 | 123 | right E, right F",
        "T 123 | 123 | left E, right F",
        "T 12- | --- | left cross",
        "T 123 | 1-- | right cross",
    ],
)
def test_what_players_do_is_allowed(text: str) -> None:
    assert _reasons(text) == []


def test_three_keys_of_one_finger_conflict_where_two_of_them_do_not_lie_together() -> None:
    assert len(_reasons("--- | --- | C#/G#, left F#, left E")) == 1


def test_the_bass_player_reaches_side_keys_with_the_right_thumb() -> None:
    assert _reasons("T R 123 | 12- | left F#, side 3, side 4", "bass-low-c") == []


def test_a_thumb_that_holds_a_low_key_does_not_reach_the_side_keys() -> None:
    assert _reasons("T R 123 | 12- | side 3, thumb low C", "bass-low-c") == [
        "The right first finger can't hold its hole and the side 3 key."
    ]


def test_an_impossible_fingering_is_refused_with_every_reason() -> None:
    held = parse_fingering("T 1-- | 1-- | throat A, side 1", SOPRANO)

    with pytest.raises(ImpossibleFingering, match="throat A key") as caught:
        check_playable(held)

    assert len(caught.value.reasons) == 2


def test_a_playable_fingering_is_not_refused() -> None:
    check_playable(parse_fingering("T R 123 | 12- | right E", SOPRANO))


def test_the_pairs_that_one_finger_can_hold() -> None:
    pairs = {(pair.digit.name, pair.first.token, pair.second.token) for pair in find_pairs(SOPRANO)}

    assert ("left thumb", "T", "R") in pairs
    assert ("left first finger", "throat A", "throat G#") in pairs
    assert ("right first finger", "side 3", "side 4") in pairs
    assert ("right little finger", "right E", "right F") in pairs
    assert not any({first, second} == {"side 2", "side 3"} for _, first, second in pairs)


def test_the_bass_thumb_holds_the_pairs_of_the_side_ladder_too() -> None:
    holders = {
        pair.digit.name
        for pair in find_pairs(load_layout("bass-low-c"))
        if {pair.first.id, pair.second.id} == {"side-3", "side-4"}
    }

    assert holders == {"right first finger", "right thumb"}


def test_keys_that_one_finger_would_need_at_once() -> None:
    clashes = {(pair.first.id, pair.second.id) for pair in find_competition(SOPRANO)}

    assert {("l1", "throat-a"), ("r1", "side-1"), ("cs-gs", "left-e")} <= clashes
    assert ("side-1", "side-4") in clashes
    assert ("left-e", "right-e") not in clashes
    assert ("l3", "left-cross") not in clashes


@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_competing_keys_are_what_conflicts_name(layout: Layout) -> None:
    for pair in find_competition(layout):
        both = {pair.first.id: State.DOWN, pair.second.id: State.DOWN}
        conflicts = find_conflicts(KeyStates.of(layout, both))
        assert [conflict.keys for conflict in conflicts] == [(pair.first, pair.second)]
    for pair in find_pairs(layout):
        both = {pair.first.id: State.DOWN, pair.second.id: State.DOWN}
        assert find_conflicts(KeyStates.of(layout, both)) == ()


def test_fingers_are_the_usual_ones_where_they_can_be() -> None:
    bass = load_layout("bass-low-c")
    free = assign_fingers(parse_fingering("T 123 | -2- | side 1", bass))
    held = assign_fingers(parse_fingering("T 123 | 12- | side 1", bass))

    assert free[bass.key("side-1")].name == "right first finger"
    assert held[bass.key("side-1")].name == "right thumb"


def test_the_little_finger_holds_the_low_g_plate_where_the_third_finger_is_lifted() -> None:
    bass = load_layout("bass-low-eb").complete
    held = parse_fingering("T R 123 | 12- | left F#, side 3, side 4, low G plate", bass)

    assert find_conflicts(held) == ()
