"""Outlines as SVG shapes."""

from analysis.keywork import Bar, Circle
from webapp.drawing.fingering_shapes import grown, lower_half, middle, mirrored, shape

BAR = Bar(10, 20, 30, 16, 4, turn_degrees=15)


def test_mirroring_twice_changes_nothing() -> None:
    for outline in (BAR, Circle(24, 46, 12.5)):
        assert mirrored(mirrored(outline, 240), 240) == outline


def test_a_grown_outline_keeps_its_middle_and_turn() -> None:
    larger = grown(BAR, 3)

    assert isinstance(larger, Bar)
    assert middle(larger) == middle(BAR)
    assert (larger.width, larger.height, larger.corner) == (36, 22, 7)
    assert larger.turn_degrees == BAR.turn_degrees


def test_a_turned_bar_turns_about_its_middle() -> None:
    assert shape(BAR).get("transform") == "rotate(15 25 28)"


def test_the_lower_half_of_a_bar_has_a_straight_edge_and_its_lower_corners() -> None:
    half = lower_half(Bar(10, 20, 30, 16, 4))

    assert half.get("d") == "M10 28V32A4 4 0 0 0 14 36H36A4 4 0 0 0 40 32V28Z"


def test_corners_never_exceed_half_a_side() -> None:
    assert shape(Bar(0, 0, 20, 10, 9)).get("rx") == "5"
