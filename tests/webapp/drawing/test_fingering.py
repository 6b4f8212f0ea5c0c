"""The fingering drawing: every state and change is visible, in words too, and nothing leaves it."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.keywork import (
    Bar,
    Circle,
    DifferentLayouts,
    KeyStates,
    Layout,
    State,
    load_layout,
    parse_fingering,
)
from analysis.pitch import NoteNames
from tests.analysis.keywork.strategies import any_fingering
from tests.webapp.drawing.labels import labels_of
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import PENS, Profile
from webapp.drawing.fingering_shapes import INK, PAPER

SOPRANO = load_layout("soprano-17-6")
BASS = load_layout("bass-low-c")
SVG = "{http://www.w3.org/2000/svg}"


def _fingering(text: str) -> KeyStates:
    return parse_fingering(text, SOPRANO)


def _parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def _shapes(svg: str) -> list[ET.Element]:
    return [one for one in _parsed(svg) if one.tag in {f"{SVG}circle", f"{SVG}rect"}]


def _at(svg: str, key_id: str) -> list[ET.Element]:
    return [one for _, one in _placed_at(svg, key_id)]


def _placed_at(svg: str, key_id: str) -> list[tuple[int, ET.Element]]:
    """Find the shapes about a key's middle with their places in the order of painting."""
    outline = SOPRANO.key(key_id).outline
    if isinstance(outline, Circle):
        x, y = outline.x, outline.y
    else:
        x, y = outline.x + outline.width / 2, outline.y + outline.height / 2
    return [
        (place, one)
        for place, one in enumerate(_shapes(svg))
        if _middle(one) == pytest.approx((x, y), abs=0.02)
    ]


def _middle(one: ET.Element) -> tuple[float, float]:
    if one.tag == f"{SVG}circle":
        return float(one.attrib["cx"]), float(one.attrib["cy"])
    return (
        float(one.attrib["x"]) + float(one.attrib["width"]) / 2,
        float(one.attrib["y"]) + float(one.attrib["height"]) / 2,
    )


def _half_inked(svg: str) -> int:
    return len(_parsed(svg).findall(f"{SVG}path"))


@given(any_fingering, st.sampled_from(Profile), st.booleans(), st.booleans())
@settings(max_examples=60, deadline=None)
def test_every_fingering_has_a_picture_that_any_reader_of_svg_takes(
    fingering: KeyStates, profile: Profile, is_reduced: bool, is_mirrored: bool
) -> None:
    base = KeyStates.of(fingering.layout, {})
    svg = draw_fingering(
        fingering, base=base, profile=profile, is_reduced=is_reduced, is_mirrored=is_mirrored
    )

    root = _parsed(svg)

    assert root.get("role") == "img"
    assert not re.search(r"style=|<style|<script|\bon\w+=|url\(|currentColor", svg)
    assert _half_inked(svg) == fingering.states.count(State.SHADED)


def test_down_is_ink_up_is_an_outline_and_shaded_is_half_ink() -> None:
    svg = draw_fingering(_fingering("T R 1(2)- | --- | left F#"), profile=Profile.PRINT)

    assert [one.get("fill") for one in _at(svg, "l1")] == [INK]
    assert [one.get("fill") for one in _at(svg, "l2")] == [PAPER]
    assert [one.get("fill") for one in _at(svg, "l3")] == [PAPER]
    assert [one.get("fill") for one in _at(svg, "left-fs")] == [INK]
    assert _half_inked(svg) == 1


def test_a_shaded_hole_is_inked_below_a_straight_edge_through_its_middle() -> None:
    svg = draw_fingering(_fingering("(1)-- | ---"), profile=Profile.PRINT)

    path = _parsed(svg).find(f"{SVG}path")

    assert path is not None
    # Left end, an arc that runs through the bottom (sweep flag 0), right end, straight back.
    assert path.get("d") == "M109.5 73A12.5 12.5 0 0 0 134.5 73Z"


def test_a_vented_plate_is_ink_round_a_small_hole_that_tells_at_24_mm() -> None:
    vented = parse_fingering("T R [1]23 | 12-", load_layout("bass-low-eb"))
    for profile in Profile:
        svg = draw_fingering(vented, profile=profile)
        plate, hole = _at(svg, "l1")[-2:]
        assert (plate.get("fill"), hole.get("fill")) == (INK, PAPER)
        # 240 units are 24 mm: the hole is 1 mm across, and so is the ink that is left round it
        assert float(hole.attrib["r"]) >= 5
        assert float(plate.attrib["r"]) - float(hole.attrib["r"]) >= 5
        assert _half_inked(svg) == 0
        assert not [one for one in _at(svg, "l2") if one.get("fill") == PAPER]


def test_keys_behind_the_tube_have_a_thin_double_line_only_while_open() -> None:
    open_thumb = draw_fingering(_fingering("R --- | ---"), profile=Profile.PRINT)
    closed_thumb = draw_fingering(_fingering("T R --- | ---"), profile=Profile.PRINT)

    # a line of ink with paper in its middle, a third as wide: two lines of 0.136 mm at 24 mm
    ink, paper = _at(open_thumb, "thumb")
    assert (ink.get("stroke"), paper.get("stroke")) == (INK, PAPER)
    assert float(ink.attrib["stroke-width"]) == pytest.approx(
        3 * float(paper.attrib["stroke-width"])
    )
    for svg, key in ((open_thumb, "register"), (closed_thumb, "thumb"), (open_thumb, "l1")):
        assert not [one for one in _at(svg, key) if one.get("stroke") == PAPER]
    for profile in Profile:
        assert "dasharray" not in draw_fingering(_fingering("R --- | ---"), profile=profile)


def test_a_change_has_a_halo_of_ink_then_a_gap_of_paper_round_the_key() -> None:
    svg = draw_fingering(
        _fingering("T -2- | --- | side 1"), base=_fingering("T 12- | ---"), profile=Profile.PRINT
    )
    pen = PENS[Profile.PRINT]

    lifted = _at(svg, "l1")
    radii = [float(one.attrib["r"]) for one in lifted]
    inner = 12.5 + pen.hole / 2

    assert [one.get("fill") for one in lifted] == [INK, PAPER, PAPER]
    assert radii == pytest.approx(
        [inner + pen.halo_gap + pen.halo_line, inner + pen.halo_gap, 12.5]
    )
    assert [one.get("fill") for one in _at(svg, "side-1")] == [INK, PAPER, INK]
    assert len(_at(svg, "l2")) == 1


def test_all_halos_come_before_all_gaps_and_those_before_all_keys() -> None:
    svg = draw_fingering(_fingering("T --- | --- | side 3, side 4"), base=_fingering("T --- | ---"))
    places = [[place for place, _ in _placed_at(svg, key)] for key in ("side-3", "side-4")]

    passes = [set(layer) for layer in zip(*places, strict=True)]

    assert all(max(earlier) < min(later) for earlier, later in pairwise(passes))


def test_no_halo_without_a_base() -> None:
    svg = draw_fingering(_fingering("T R 123 | 123"), profile=Profile.PRINT)

    assert len(_shapes(svg)) == len(SOPRANO.keys)


def test_the_reduced_drawing_shows_holes_live_keys_and_their_cluster() -> None:
    svg = draw_fingering(_fingering("T 12- | --- | left E"), profile=Profile.PRINT, is_reduced=True)
    shown = {key.id for key in SOPRANO.keys if _at(svg, key.id)}

    assert shown == {
        "thumb", "l1", "l2", "l3", "r1", "r2", "r3", "left-fs", "cs-gs", "left-e", "left-f",
    }  # fmt: skip
    neighbour = _at(svg, "left-f")[0]
    assert float(neighbour.attrib["stroke-width"]) == PENS[Profile.PRINT].neighbour


def test_the_reduced_drawing_shows_a_key_that_was_lifted() -> None:
    svg = draw_fingering(
        _fingering("T 12- | ---"),
        base=_fingering("T 12- | --- | left cross"),
        profile=Profile.PRINT,
        is_reduced=True,
    )

    assert [one.get("fill") for one in _at(svg, "left-cross")] == [INK, PAPER, PAPER]


@pytest.mark.parametrize(
    ("text", "is_shown"),
    [("1-- | ---", False), ("R 1-- | ---", True), ("T 1-- | ---", True)],
)
def test_the_reduced_drawing_shows_an_open_thumb_only_with_the_register_key(
    text: str, is_shown: bool
) -> None:
    svg = draw_fingering(_fingering(text), profile=Profile.PRINT, is_reduced=True)

    assert bool(_at(svg, "thumb")) == is_shown


def test_the_smallest_drawing_is_always_reduced() -> None:
    fingering = _fingering("T 123 | 12-")

    assert draw_fingering(fingering, profile=Profile.SMALL) == draw_fingering(
        fingering, profile=Profile.SMALL, is_reduced=True
    )


def test_mirroring_turns_left_and_right_round_and_keeps_heights() -> None:
    fingering = _fingering("T R 123 | 12- | right E, left cross")
    plain = _shapes(draw_fingering(fingering, profile=Profile.PRINT))
    turned = _shapes(draw_fingering(fingering, profile=Profile.PRINT, is_mirrored=True))

    for one, other in zip(plain, turned, strict=True):
        (x, y), (mirrored_x, mirrored_y) = _middle(one), _middle(other)
        assert (mirrored_x, mirrored_y) == pytest.approx((240 - x, y), abs=0.02)
    tilt = [one.attrib["transform"].split()[0] for one in plain if "transform" in one.attrib]
    tilt_turned = [
        one.attrib["transform"].split()[0] for one in turned if "transform" in one.attrib
    ]
    assert tilt == ["rotate(14", "rotate(-12", "rotate(-12"]
    assert tilt_turned == ["rotate(-14", "rotate(12", "rotate(12"]


def test_the_picture_says_itself_in_words() -> None:
    root = _parsed(
        draw_fingering(
            _fingering("T R (1)23 | 123 | left F#, right E"),
            base=_fingering("T R 123 | 123 | left F#"),
            title="D quarter-flat 5",
            id_prefix="f7",
        )
    )

    assert root.get("aria-labelledby") == "f7-title f7-desc"
    assert [root[0].text, root[0].get("id")] == ["D quarter-flat 5", "f7-title"]
    assert root[1].text == (
        "thumb and register; left 2 3, left first finger shaded, left F sharp key; "
        "right 1 2 3, right E key. Against T R 123 | 123 | left F#: "
        "adds right E key (closes), shades left first finger (was closed)"
    )


def test_the_title_is_the_text_form_when_none_is_given() -> None:
    assert _parsed(draw_fingering(_fingering("T 12- | ---")))[0].text == "T 12- | ---"


def test_hostile_titles_stay_text() -> None:
    svg = draw_fingering(_fingering("T --- | ---"), title="<script>alert(1)</script>")

    assert "<script" not in svg
    assert _parsed(svg)[0].text == "<script>alert(1)</script>"


def _labels(svg: str) -> list[str]:
    return labels_of(_parsed(svg))


def test_labels_and_hands_are_printed_where_there_is_room() -> None:
    fingering = _fingering("T 123 | 123")

    assert _labels(draw_fingering(fingering, profile=Profile.PRINT)) == []
    entry = _labels(draw_fingering(fingering, profile=Profile.ENTRY))
    stand = _labels(draw_fingering(fingering, profile=Profile.STAND))
    assert len(entry) == len(SOPRANO.keys)
    assert [label for label in stand if label not in entry] == ["left", "right"]


def test_in_a_row_the_live_keys_of_groups_are_named_beside_them() -> None:
    row = draw_fingering(
        _fingering("T R 123 | 123 | left F#, right E, side 2"),
        base=_fingering("T R 123 | 123 | left F#"),
        profile=Profile.ROW,
        is_reduced=True,
    )
    labels = {
        "".join(each.itertext()): each for each in _parsed(row).iter() if each.tag.endswith("text")
    }
    x, _, width, _ = (float(each) for each in _parsed(row).attrib["viewBox"].split())
    assert sorted(_labels(row)) == ["2", "E", "F♯"]
    for each in labels.values():
        assert x < float(each.attrib["x"]) < x + width
    plain = draw_fingering(_fingering("T R 123 | 123"), profile=Profile.ROW, is_reduced=True)
    assert _labels(plain) == []


@pytest.mark.parametrize(
    ("names", "label"),
    [(NoteNames.ENGLISH, "G♯"), (NoteNames.GERMAN, "Gis"), (NoteNames.ROMANCE, "sol♯")],
)
def test_labels_are_note_names_in_the_players_language(names: NoteNames, label: str) -> None:
    assert label in _labels(draw_fingering(_fingering("T --- | ---"), names=names))


def test_a_base_of_another_instrument_is_refused() -> None:
    with pytest.raises(DifferentLayouts, match="different keywork"):
        draw_fingering(_fingering("T --- | ---"), base=KeyStates.of(BASS, {}))


@pytest.mark.parametrize(("profile", "width_mm"), [(Profile.SMALL, 12), (Profile.PRINT, 24)])
def test_no_line_prints_thinner_than_an_eighth_of_a_millimetre(
    profile: Profile, width_mm: float
) -> None:
    # 0.12 mm is 0.34 pt; offset printers ask for 0.25 pt at least (common practice, from memory).
    pen = PENS[profile]
    strokes = (pen.hole, pen.key, pen.neighbour, pen.halo_gap, pen.halo_line)

    assert round(min(strokes) * width_mm / 240, 6) >= 0.12


@pytest.mark.parametrize("profile", Profile)
@pytest.mark.parametrize("layout", [SOPRANO, BASS], ids=lambda layout: layout.id)
def test_every_halo_stays_on_the_sheet(profile: Profile, layout: Layout) -> None:
    x, y, width, height = layout.view_box
    pen = PENS[profile]
    for key in layout.keys:
        stroke = pen.key if isinstance(key.outline, Bar) else pen.hole
        reach = stroke / 2 + pen.halo_gap + pen.halo_line
        outline = key.outline
        if isinstance(outline, Bar):
            left, top = outline.x, outline.y
            right, bottom = left + outline.width, top + outline.height
        else:
            left, top = outline.x - outline.radius, outline.y - outline.radius
            right, bottom = outline.x + outline.radius, outline.y + outline.radius
        assert left - reach >= x and right + reach <= x + width, key.id
        assert top - reach >= y and bottom + reach <= y + height, key.id
