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
from analysis.pitch import KINDS
from tests.analysis.keywork.strategies import LAYOUTS


def test_three_layouts_ship() -> None:
    assert layout_ids() == ("bass-low-c", "bass-low-eb", "soprano-17-6")


def test_a_layout_is_read_once() -> None:
    assert load_layout("soprano-17-6") is load_layout("soprano-17-6")


def test_an_unknown_layout_is_named_with_the_known_ones() -> None:
    with pytest.raises(UnknownLayout, match=r"no layout 'oboe'.*soprano-17-6"):
        load_layout("oboe")


def test_an_unknown_key_is_named_with_its_layout() -> None:
    with pytest.raises(UnknownKey, match="Bass to low C has no key 'spring'"):
        load_layout("bass-low-c").key("spring")


def test_kinds_find_their_layouts() -> None:
    assert [layout.id for layout in layouts_for_kind("a-soprano")] == ["soprano-17-6"]
    assert [layout.id for layout in layouts_for_kind("b-flat-bass")] == [
        "bass-low-c",
        "bass-low-eb",
    ]
    assert layouts_for_kind("piccolo") == ()


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


@pytest.mark.parametrize("layout_id", ["bass-low-eb", "bass-low-c"])
def test_only_the_half_hole_plate_of_a_bass_can_be_shaded(layout_id: str) -> None:
    keys = load_layout(layout_id).keys

    assert [key.id for key in keys if State.SHADED in key.states] == ["l1"]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_touch_targets_are_large_and_lie_on_the_drawing(layout: Layout) -> None:
    # 44 CSS px is the target size of WCAG 2.2, success criterion 2.5.5; 240 units are at least
    # 352 px wide on the page, so that 30 units are 44 px.
    x, y, width, height = layout.view_box
    for key in layout.keys:
        assert min(key.hit.width, key.hit.height) >= 30, key.id
        assert x <= key.hit.x and key.hit.x + key.hit.width <= x + width, key.id
        assert y <= key.hit.y and key.hit.y + key.hit.height <= y + height, key.id


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.id)
def test_round_outlines_cover_holes_and_square_ones_close_pads(layout: Layout) -> None:
    for key in layout.keys:
        assert isinstance(key.outline, Bar) == (key.acts is not Acts.HOLE), key.id
        if isinstance(key.outline, Bar):
            half = min(key.outline.width, key.outline.height) / 2
            assert (key.outline.corner == half) == (key.acts is Acts.OPENS), key.id
