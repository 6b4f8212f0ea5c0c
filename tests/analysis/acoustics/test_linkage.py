import random

import numpy as np
import pytest

from analysis.acoustics import Linkage, decode_holes, encode_states
from analysis.keywork import (
    KeyStates,
    RightThumb,
    State,
    customise,
    find_conflicts,
    load_layout,
    ordinary_fingerings,
    parse_fingering,
)

LAYOUT_IDS = ("soprano-17-6", "bass-low-eb", "bass-low-c")


def draw_fingerings(layout_id: str, count: int, *, most_pressed: int) -> list[KeyStates]:
    layout = load_layout(layout_id)
    chance = random.Random(7)
    drawn = []
    for _ in range(count):
        keys = chance.sample(layout.keys, chance.randint(0, most_pressed))
        states = {key.id: chance.choice(key.states) for key in keys}
        drawn.append(KeyStates.of(layout, states))
    return drawn


@pytest.mark.parametrize("layout_id", LAYOUT_IDS)
def test_holes_follow_keys_as_the_keywork_says(layout_id: str) -> None:
    linkage = Linkage(load_layout(layout_id))
    fingerings = draw_fingerings(layout_id, 300, most_pressed=14)
    keys = np.array([linkage.encode(fingering) for fingering in fingerings], dtype=np.uint64)
    expected = np.array([encode_states(fingering) for fingering in fingerings])
    found = decode_holes(linkage.find_holes(keys), len(linkage.layout.holes))
    assert np.array_equal(found, expected)


@pytest.mark.parametrize("layout_id", LAYOUT_IDS)
def test_hands_can_hold_what_the_keywork_says(layout_id: str) -> None:
    linkage = Linkage(load_layout(layout_id))
    fingerings = draw_fingerings(layout_id, 200, most_pressed=8)
    keys = np.array([linkage.encode(fingering) for fingering in fingerings], dtype=np.uint64)
    expected = [not find_conflicts(fingering) for fingering in fingerings]
    assert 20 < sum(expected) < 198
    assert linkage.is_playable(keys).tolist() == expected


@pytest.mark.parametrize("layout_id", LAYOUT_IDS)
def test_a_fingering_survives_as_a_key_set(layout_id: str) -> None:
    linkage = Linkage(load_layout(layout_id))
    for fingering in draw_fingerings(layout_id, 50, most_pressed=10):
        assert linkage.decode(linkage.encode(fingering)) == fingering


@pytest.mark.parametrize("layout_id", LAYOUT_IDS)
def test_half_holes_are_told_from_ordinary_states_as_by_the_key_states(layout_id: str) -> None:
    linkage = Linkage(load_layout(layout_id))
    drawn = draw_fingerings(layout_id, 500, most_pressed=6)
    ordinary = [one.fingering for one in ordinary_fingerings(linkage.layout)]
    for key in linkage.layout.keys:
        if State.SHADED in key.states:
            drawn += [one.replaced(key.id, State.SHADED) for one in ordinary]
    keys = np.array([linkage.encode(fingering) for fingering in drawn], dtype=np.uint64)
    expected = [fingering.has_half_hole for fingering in drawn]
    assert linkage.has_half_hole(keys).tolist() == expected
    # on the bass no hole can be half covered; one plate can be vented
    assert any(expected) == (layout_id == "soprano-17-6")


@pytest.mark.parametrize("thumb", RightThumb)
def test_no_key_set_needs_a_thumb_that_carries(thumb: RightThumb) -> None:
    layout = customise(load_layout("bass-low-c"), right_thumb=thumb)
    linkage, chance = Linkage(layout), random.Random(24)
    drawn = [
        KeyStates.of(
            layout,
            {
                key.id: chance.choice(key.states)
                for key in chance.sample(layout.keys, chance.randint(0, 6))
            },
        )
        for _ in range(150)
    ]
    keys = np.array([linkage.encode(each) for each in drawn], dtype=np.uint64)
    assert linkage.is_playable(keys).tolist() == [not find_conflicts(each) for each in drawn]
    e3 = linkage.encode(parse_fingering("T 123 | 123 | right E", layout))
    near = [linkage.decode(int(each)) for each in linkage.find_within(e3, 1)]
    assert not any(find_conflicts(each) for each in near)
    is_thumb_at_work = any(each.state("thumb-c") is State.DOWN for each in near)
    assert is_thumb_at_work is (thumb is not RightThumb.CARRIES)


def test_neighbours_differ_in_at_most_so_many_keys_and_can_be_held() -> None:
    linkage = Linkage(load_layout("soprano-17-6"))
    base = parse_fingering("T R (1)23 | -2-", linkage.layout)
    around = linkage.find_within(linkage.encode(base), 2)
    for keys in around.tolist():
        fingering = linkage.decode(keys)
        pairs = zip(base.states, fingering.states, strict=True)
        assert sum(before is not after for before, after in pairs) <= 2
        assert not find_conflicts(fingering)
        assert fingering.state("l1") in (State.SHADED, State.UP)
    assert linkage.encode(base) in around.tolist()
    assert len(set(around.tolist())) == len(around)


def test_a_plate_is_vented_and_unvented_among_the_neighbours_without_a_half_hole() -> None:
    linkage = Linkage(load_layout("bass-low-eb"))
    for text in ("T R 123 | 12-", "T R [1]23 | 12-"):
        around = linkage.find_within(linkage.encode(parse_fingering(text, linkage.layout)), 1)
        states = {linkage.decode(keys).state("l1") for keys in around.tolist()}
        assert states == {State.UP, State.DOWN, State.VENTED}
        assert not linkage.has_half_hole(around).any()
        holes = linkage.find_holes(around)
        assert not (holes & linkage.half_hole_bits).any()
