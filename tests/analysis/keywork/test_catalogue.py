"""The shipped layouts: which there are, whom they serve, and what a player must find in them."""

import pytest

from analysis.keywork import (
    Acts,
    Bar,
    KeyKind,
    Layout,
    State,
    UnknownKey,
    UnknownLayout,
    layout_ids,
    layouts_for_kind,
    load_layout,
)
from analysis.pitch import KINDS, InstrumentKind
from tests.analysis.keywork.strategies import COMPLETE, LAYOUTS, name_layout


def test_the_layouts_that_ship() -> None:
    assert layout_ids() == (
        "alto-low-eb",
        "bass-low-c",
        "bass-low-eb",
        "bass-low-eb-two-register-keys",
        "basset-clarinet-low-c",
        "basset-horn-low-c",
        "contra-low-c",
        "contra-low-eb",
        "soprano-17-6",
        "soprano-20-7",
        "soprano-german",
    )


def test_a_layout_is_read_once() -> None:
    assert load_layout("soprano-17-6") is load_layout("soprano-17-6")


def test_an_unknown_layout_is_named_with_the_known_ones() -> None:
    with pytest.raises(UnknownLayout, match=r"no layout 'oboe'.*soprano-17-6"):
        load_layout("oboe")


def test_an_unknown_key_is_named_with_its_layout() -> None:
    with pytest.raises(UnknownKey, match="Bass to low C has no key 'spring'"):
        load_layout("bass-low-c").key("spring")


def test_kinds_find_their_layouts() -> None:
    assert [layout.id for layout in layouts_for_kind("a-soprano")] == [
        "soprano-17-6",
        "soprano-20-7",
        "soprano-german",
    ]
    assert [layout.id for layout in layouts_for_kind("b-flat-bass")] == [
        "bass-low-c",
        "bass-low-eb",
        "bass-low-eb-two-register-keys",
    ]
    assert layouts_for_kind("piccolo") == ()


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.id)
def test_every_clarinet_has_a_layout_that_reaches_its_lowest_note(kind: InstrumentKind) -> None:
    lowest = {layout.lowest for layout in layouts_for_kind(kind.id)}
    expected = {kind.lowest} | ({kind.extended_lowest} if kind.extended_lowest else set())

    assert {kind.in_treble_notation(note) for note in expected} <= lowest


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_every_kind_that_a_layout_serves_is_a_clarinet(layout: Layout) -> None:
    assert set(layout.kinds) <= set(KINDS)
    assert "from memory" in layout.provenance


# Common practice, from memory: 17 keys besides the holes, six of the seven holes with rings.
def test_the_soprano_has_seventeen_keys_and_six_rings() -> None:
    kinds = [key.kind for key in load_layout("soprano-17-6").keys]

    assert kinds.count(KeyKind.KEY) == 17
    assert kinds.count(KeyKind.RING) == 6
    assert kinds.count(KeyKind.HOLE) == 1


# Common practice, from memory: what "20 keys and 7 rings" counts.
def test_the_soprano_with_the_usual_extras_has_twenty_keys_and_seven_rings() -> None:
    kinds = [key.kind for key in load_layout("soprano-20-7").keys]

    # The seventeen, the left lever and low E flat; the articulated C sharp/G sharp counts as one.
    assert kinds.count(KeyKind.KEY) == 19
    assert kinds.count(KeyKind.RING) == 7


@pytest.mark.parametrize("layout", LAYOUTS, ids=name_layout)
def test_a_ring_or_hole_can_be_shaded_and_only_the_left_first_plate_vented(layout: Layout) -> None:
    for key in layout.keys:
        assert (State.SHADED in key.states) == (key.kind in {KeyKind.RING, KeyKind.HOLE}), key.id
        can_be_vented = key.kind is KeyKind.PLATE and key.id == "l1"
        assert (State.VENTED in key.states) == can_be_vented, key.id


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_touch_targets_are_large_and_lie_on_the_drawing(layout: Layout) -> None:
    # 44 CSS px is the target size of WCAG 2.2, success criterion 2.5.5; 240 units are at least
    # 352 px wide on the page, so that 30 units are 44 px.
    x, y, width, height = layout.view_box
    for key in layout.keys:
        assert min(key.hit.width, key.hit.height) >= 30, key.id
        assert x <= key.hit.x and key.hit.x + key.hit.width <= x + width, key.id
        assert y <= key.hit.y and key.hit.y + key.hit.height <= y + height, key.id


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_round_outlines_cover_holes_and_square_ones_close_pads(layout: Layout) -> None:
    for key in layout.keys:
        assert isinstance(key.outline, Bar) == (key.acts is not Acts.HOLE), key.id
        if isinstance(key.outline, Bar):
            half = min(key.outline.width, key.outline.height) / 2
            assert (key.outline.corner == half) == (key.acts is Acts.OPENS), key.id
