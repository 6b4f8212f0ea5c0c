"""The building blocks of the drawings: text stays text, numbers stay short."""

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from types import MappingProxyType

import pytest

from analysis.keywork import load_layout, parse_fingering
from webapp.drawing.fingering import draw_fingering
from webapp.drawing.fingering_profiles import Profile
from webapp.drawing.svg import STROKE, element, number, render, shorten_for_page, svg_root


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1, "1"),
        (1.0, "1"),
        (0.5, "0.5"),
        (-3.25, "-3.25"),
        (100, "100"),
        (-0.001, "0"),
        (1 / 3, "0.33"),
    ],
)
def test_numbers_are_written_as_short_as_two_decimals_allow(value: float, text: str) -> None:
    assert number(value) == text


def test_hostile_text_and_attributes_come_out_as_text() -> None:
    hostile = '"><script>alert(1)</script>\x00&'
    root = svg_root((0, 0, 10, 10), title=hostile, desc=hostile, id_prefix="a")
    root.append(element("text", hostile, class_=hostile))

    parsed = ET.fromstring(render(root))

    assert "<script" not in render(root)
    assert [child.text for child in parsed] == [hostile.replace("\x00", "")] * 3


@pytest.mark.parametrize("name", ["style", "onclick", "onLoad"])
def test_attributes_that_the_pages_policy_forbids_are_refused(name: str) -> None:
    with pytest.raises(ValueError, match=name):
        element("g", **{name: "x"})


def test_the_root_is_one_image_named_by_its_title_and_description() -> None:
    root = svg_root((0, -4, 240, 402), title="E5", desc="thumb", id_prefix="f1", class_="picture")

    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "f1-title f1-desc"
    assert root.get("viewBox") == "0 -4 240 402"
    assert root.get("class") == "picture"
    assert [child.get("id") for child in root] == ["f1-title", "f1-desc"]


def test_a_drawing_without_a_description_is_named_by_its_title_alone() -> None:
    root = svg_root((0, 0, 1, 1), title="E5", id_prefix="f1")

    assert root.get("aria-labelledby") == "f1-title"
    assert len(root) == 1


def test_attributes_that_are_none_are_left_out() -> None:
    assert element("g", fill=None).attrib == {}


def test_a_drawing_in_a_page_is_shorter_and_paints_the_same_in_the_same_order() -> None:
    layout = load_layout("soprano-17-6")
    keys = parse_fingering("T R 1(2)- | 1-- | right F#", layout)
    base = parse_fingering("T R 123 | 1--", layout)
    drawn = draw_fingering(keys, base=base, profile=Profile.ROW, is_reduced=True)
    shortened = shorten_for_page(drawn, unused_classes=("ink", "paper", "parting"))
    assert len(shortened) < 0.85 * len(drawn)
    assert list(painted(ET.fromstring(shortened))) == list(painted(ET.fromstring(drawn)))
    again = shorten_for_page(shortened)
    assert list(painted(ET.fromstring(again))) == list(painted(ET.fromstring(drawn)))


def painted(
    part: ET.Element, stroke: Mapping[str, str] = MappingProxyType({})
) -> Iterator[tuple[str, dict[str, str], str]]:
    """What is painted, in its order, with the stroke that it has or inherits (SVG 2, painting)."""
    for child in part:
        name = child.tag.rpartition("}")[2]
        inherited = {**stroke, **{key: child.attrib[key] for key in STROKE if key in child.attrib}}
        if name == "g":
            yield from painted(child, inherited)
            continue
        own = {key: value for key, value in child.attrib.items() if key != "class"}
        yield name, {**inherited, **own}, "".join(child.itertext())
