"""The marks stand where measured minus predicted says, and the words count them."""

import xml.etree.ElementTree as ET
from datetime import date

import pytest

from webapp.drawing.trust import TrustPoint, describe_trust, draw_trust

SVG = "{http://www.w3.org/2000/svg}"


def point(miss_cents: float, sigma_cents: float = 10.0, day: int = 1) -> TrustPoint:
    return TrustPoint(date(2026, 3, day), 5.0, sigma_cents, 5.0 + miss_cents)


def marks(*points: TrustPoint) -> list[ET.Element]:
    root = ET.fromstring(draw_trust(points))
    return [each for each in root.iter() if each.get("class") == "measured"]


def middle_y(*points: TrustPoint) -> float:
    line = ET.fromstring(draw_trust(points)).find(f"{SVG}g[@class='accent']/{SVG}line")
    assert line is not None
    return float(line.get("y1", ""))


def test_as_predicted_is_in_the_middle_and_sharper_is_up() -> None:
    points = (point(0), point(10), point(-10))
    on, above, below = (float(mark.get("cy", "")) for mark in marks(*points))
    assert on == middle_y(*points)
    assert above < on < below
    assert on - above == pytest.approx(below - on)


def test_tries_stand_in_their_order_from_left_to_right() -> None:
    places = [float(mark.get("cx", "")) for mark in marks(point(1), point(-3), point(2))]
    assert places == sorted(places)
    assert len(set(places)) == 3


def test_the_bar_reaches_one_standard_uncertainty_to_both_sides() -> None:
    points = (point(10, sigma_cents=10),)
    root = ET.fromstring(draw_trust(points))
    (bar,) = (each for each in root.iter() if each.get("class") == "expected")
    assert bar.get("stroke-dasharray")
    top, bottom = float(bar.get("y1", "")), float(bar.get("y2", ""))
    assert top == float(marks(*points)[0].get("cy", ""))  # a miss of exactly one sigma
    assert middle_y(*points) - top == pytest.approx(bottom - middle_y(*points))


@pytest.mark.parametrize("miss_cents", [400.0, -400.0])
def test_a_miss_beyond_the_frame_becomes_a_wedge_that_points_outwards(miss_cents: float) -> None:
    (mark,) = marks(point(miss_cents))
    assert mark.tag == f"{SVG}polygon"
    (_, edge), (_, tip), _ = (pair.split(",") for pair in mark.get("points", "").split())
    assert (float(edge) - float(tip)) * miss_cents > 0


def test_the_words_count_what_lies_within_the_stated_uncertainty() -> None:
    words = describe_trust([point(2), point(-8), point(30)])
    assert words.startswith("3 predictions measured.")
    assert "no more than 8 cents, the worst by 30" in words  # median and maximum of 2, 8, 30
    assert "2 of 3 lie within" in words


def test_the_drawing_says_its_words_to_a_screen_reader() -> None:
    root = ET.fromstring(draw_trust([point(2, day=1), point(3, day=9)]))
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}desc") == describe_trust([point(2), point(3)])
    texts = [each.text for each in root.iter(f"{SVG}text")]
    assert {"1 Mar 2026", "9 Mar 2026"} <= set(texts)


def test_without_points_the_words_say_so() -> None:
    assert "No prediction" in describe_trust([])
