"""The building blocks of the drawings: text stays text, numbers stay short."""

import xml.etree.ElementTree as ET

import pytest

from webapp.drawing.svg import element, number, render, svg_root


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
