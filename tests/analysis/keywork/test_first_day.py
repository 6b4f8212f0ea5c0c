"""What is recorded first: notes of every register, and cross-fingerings anybody can play."""

import pytest

from analysis.keywork import (
    AWKWARD_FIGURE,
    Layout,
    assess_ease,
    find_changes,
    format_fingering,
    layout_ids,
    list_first_day,
    load_layout,
    ordinary_fingerings,
)
from analysis.pitch import Register, WrittenPitch, register_of

LAYOUTS = [load_layout(layout_id) for layout_id in layout_ids()]


def name(layout: Layout) -> str:
    return layout.id


@pytest.mark.parametrize("layout", LAYOUTS, ids=name)
def test_nine_to_twelve_are_asked_for_and_three_or_more_are_crossed(layout: Layout) -> None:
    first_day = list_first_day(layout)
    assert 9 <= len(first_day) <= 12
    assert len({one.fingering for one in first_day}) == len(first_day)
    assert sum(one.is_cross for one in first_day) >= 3


@pytest.mark.parametrize("layout", LAYOUTS, ids=name)
def test_the_ordinary_ones_are_usual_and_of_every_register(layout: Layout) -> None:
    plain = [one for one in list_first_day(layout) if not one.is_cross]
    assert all(one.base.choice == 1 and one.written == one.base.written for one in plain)
    assert {register_of(one.written) for one in plain} == {
        register_of(one.written) for one in ordinary_fingerings(layout)
    }
    assert [one.written.cents for one in plain] == sorted(one.written.cents for one in plain)


@pytest.mark.parametrize("layout", LAYOUTS, ids=name)
def test_none_asks_for_more_than_a_beginner_has(layout: Layout) -> None:
    first_day = list_first_day(layout)
    # C#6 and D6 are the first notes learned above the clarion (common practice, from memory)
    assert max(one.written.cents for one in first_day) <= WrittenPitch.from_canonical("D6").cents
    high = [one for one in first_day if register_of(one.written) is Register.ALTISSIMO]
    assert len(high) <= 1
    assert not any(one.fingering.has_half_hole for one in first_day)
    assert min(assess_ease(one.fingering).figure for one in first_day) > AWKWARD_FIGURE


@pytest.mark.parametrize("layout", LAYOUTS, ids=name)
def test_a_cross_fingering_is_a_clarion_note_with_one_key_more(layout: Layout) -> None:
    for one in list_first_day(layout):
        if one.is_cross:
            (change,) = find_changes(one.base.fingering, one.fingering)
            assert change.key in one.fingering.pressed
            assert register_of(one.base.written) is Register.CLARION
            assert abs(one.written.cents - one.base.written.cents) == 50


def test_the_quarter_tones_that_everybody_knows_are_among_them() -> None:
    # common practice, from memory: low E on E5, the right cross key on F#5
    texts = {format_fingering(one.fingering) for one in list_first_day(load_layout("soprano-17-6"))}
    assert {"T R 123 | 12- | right E", "T R 123 | -2- | right cross"} <= texts


def test_the_cross_key_is_not_asked_for_where_the_middle_finger_is_up() -> None:
    # the German F#5 has the first finger down instead (common practice, from memory)
    first_day = list_first_day(load_layout("soprano-german"))
    assert not any("right cross" in format_fingering(one.fingering) for one in first_day)
