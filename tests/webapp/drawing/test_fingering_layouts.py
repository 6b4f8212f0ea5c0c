"""The drawing of every layout, with every optional key: nothing covers or hides anything."""

import xml.etree.ElementTree as ET
from itertools import combinations
from math import cos, radians, sin

import pytest

from analysis.keywork import Bar, Key, KeyStates, Layout, Rectangle, State
from analysis.pitch import NoteNames
from tests.analysis.keywork.strategies import COMPLETE, EVERY, name_layout
from tests.webapp.drawing.labels import labels_of
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_labels import key_label
from webapp.drawing.fingering_profiles import PENS, Profile

SVG = "{http://www.w3.org/2000/svg}"

# The widest digit or capital of the text face is about 0.72 of the type size, a capital 0.7 high.
WIDE, HIGH = 0.72, 0.7


def _box(key: Key, reach: float = 0.0) -> Rectangle:
    """Find the upright rectangle round a key's outline, turned as it is drawn."""
    outline = key.outline
    if not isinstance(outline, Bar):
        side = 2 * (outline.radius + reach)
        return Rectangle(outline.x - side / 2, outline.y - side / 2, side, side)
    turn = radians(outline.turn_degrees)
    # A bar with round ends: the ends' circles about the two points that the turn moves.
    corner = min(outline.corner, outline.width / 2, outline.height / 2)
    half_x, half_y = outline.width / 2 - corner, outline.height / 2 - corner
    width = 2 * (abs(half_x * cos(turn)) + abs(half_y * sin(turn)) + corner + reach)
    height = 2 * (abs(half_x * sin(turn)) + abs(half_y * cos(turn)) + corner + reach)
    x, y = outline.x + outline.width / 2, outline.y + outline.height / 2
    return Rectangle(x - width / 2, y - height / 2, width, height)


def _label_box(key: Key, place: tuple[float, float]) -> Rectangle:
    size = PENS[Profile.STAND].label_size
    width = len(key_label(key, NoteNames.ENGLISH)) * WIDE * size
    return Rectangle(place[0] - width / 2, place[1] - HIGH * size / 2, width, HIGH * size)


def _stroke(key: Key, profile: Profile) -> float:
    return PENS[profile].key if isinstance(key.outline, Bar) else PENS[profile].hole


@pytest.mark.parametrize("profile", Profile)
@pytest.mark.parametrize("layout", EVERY, ids=name_layout)
def test_every_halo_stays_on_the_sheet(profile: Profile, layout: Layout) -> None:
    x, y, width, height = layout.view_box
    pen = PENS[profile]
    for key in layout.keys:
        box = _box(key, _stroke(key, profile) / 2 + pen.halo_gap + pen.halo_line)
        assert x <= box.x and box.x + box.width <= x + width, key.id
        assert y <= box.y and box.y + box.height <= y + height, key.id


@pytest.mark.parametrize("profile", [Profile.PRINT, Profile.ENTRY, Profile.STAND])
@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_no_key_covers_another(profile: Profile, layout: Layout) -> None:
    for first, second in combinations(layout.keys, 2):
        boxes = [_box(key, _stroke(key, profile) / 2) for key in (first, second)]
        assert not boxes[0].overlaps(boxes[1]), (first.id, second.id)


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_every_key_lies_in_its_own_touch_target(layout: Layout) -> None:
    for key in layout.keys:
        box, hit = _box(key), key.hit
        assert hit.x <= box.x and box.x + box.width <= hit.x + hit.width, key.id
        assert hit.y <= box.y and box.y + box.height <= hit.y + hit.height, key.id


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_labels_beside_their_keys_cover_no_key(layout: Layout) -> None:
    for key in layout.keys:
        if key.label_at is None:
            continue
        label = _label_box(key, key.label_at)
        for other in layout.keys:
            assert not label.overlaps(_box(other, _stroke(other, Profile.STAND) / 2)), other.id


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_labels_on_keys_are_no_wider_than_the_keys(layout: Layout) -> None:
    for key in layout.keys:
        if key.label_at is None:
            label = _label_box(key, (0, 0))
            assert label.width <= _box(key).width, key.id


@pytest.mark.parametrize("is_mirrored", [False, True], ids=["player", "teacher"])
@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_every_key_and_its_label_are_drawn(layout: Layout, is_mirrored: bool) -> None:
    svg = draw_fingering(
        KeyStates.of(layout, {key.id: State.DOWN for key in layout.keys}), is_mirrored=is_mirrored
    )
    root = ET.fromstring(svg)
    shapes = [one for one in root if one.tag in {f"{SVG}circle", f"{SVG}rect"}]
    texts = labels_of(root)

    assert len(shapes) == len(layout.keys)
    for key in layout.keys:
        texts.remove(key_label(key, NoteNames.ENGLISH))
    assert sorted(text for text in texts if text) == ["left", "right"]


@pytest.mark.parametrize("layout", COMPLETE, ids=name_layout)
def test_the_teachers_view_turns_every_key_over(layout: Layout) -> None:
    nothing = KeyStates.of(layout, {})
    player, teacher = (
        [one for one in ET.fromstring(svg) if one.tag in {f"{SVG}circle", f"{SVG}rect"}]
        for svg in (draw_fingering(nothing), draw_fingering(nothing, is_mirrored=True))
    )

    for one, other in zip(player, teacher, strict=True):
        assert _middle_x(one) + _middle_x(other) == pytest.approx(240, abs=0.02)


def _middle_x(one: ET.Element) -> float:
    if one.tag == f"{SVG}circle":
        return float(one.attrib["cx"])
    return float(one.attrib["x"]) + float(one.attrib["width"]) / 2
