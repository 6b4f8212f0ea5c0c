"""The mark and the strokes stand where their numbers say."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence

import pytest

from webapp.drawing.evenness import EVENNESS_VIEW_BOX, draw_evenness

SVG = "{http://www.w3.org/2000/svg}"
MIDDLE = EVENNESS_VIEW_BOX[2] / 2


def drawn(difference: float, others: Sequence[float] = (), title: str = "words") -> ET.Element:
    svg = draw_evenness(difference, others, reach=2.0, less="duller", more="brighter", title=title)
    return ET.fromstring(svg)


def mark_x(difference: float) -> float:
    mark = drawn(difference).find(f"{SVG}circle")
    assert mark is not None
    return float(mark.get("cx", ""))


def strokes_x(root: ET.Element) -> list[float]:
    lines = root.findall(f"{SVG}g[@class='others']/{SVG}line")
    return [float(line.get("x1", "")) for line in lines]


def test_no_difference_stands_in_the_middle_and_more_is_right() -> None:
    assert mark_x(0) == MIDDLE
    assert mark_x(-1) < MIDDLE < mark_x(1)
    assert mark_x(1) - MIDDLE == pytest.approx(MIDDLE - mark_x(-1))


def test_every_note_nearby_is_a_stroke_at_its_own_difference() -> None:
    root = drawn(0.5, [-1.0, 0.0, 1.0, 7.0])
    assert strokes_x(root) == [mark_x(-1), MIDDLE, mark_x(1)]  # one lies beyond the rule


@pytest.mark.parametrize("difference", [-2.5, 9.0])
def test_a_note_beyond_the_rule_becomes_a_wedge_that_points_outwards(difference: float) -> None:
    root = drawn(difference)
    wedge = root.find(f"{SVG}polygon")
    assert root.find(f"{SVG}circle") is None and wedge is not None
    base, tip, _ = (float(pair.split(",")[0]) for pair in wedge.get("points", "").split())
    assert (tip - base) * difference > 0
    assert 0 <= tip <= EVENNESS_VIEW_BOX[2]


def test_the_ends_say_of_what_and_the_title_says_it_all() -> None:
    root = drawn(0.5, title="Brightness: brighter <&>")
    assert [text.text for text in root.iter(f"{SVG}text")] == ["duller", "brighter"]
    assert root.findtext(f"{SVG}title") == "Brightness: brighter <&>"
    assert root.get("role") == "img"
