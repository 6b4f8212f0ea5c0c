"""The mark stands where the number says, and never says it by colour alone."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.drawing.offset import OFFSET_VIEW_BOX, describe_offset, draw_offset

SVG = "{http://www.w3.org/2000/svg}"
MIDDLE = OFFSET_VIEW_BOX[2] / 2


def mark_x(offset_cents: float, range_cents: float = 50) -> float:
    svg = draw_offset(offset_cents, 1.0, tolerance_cents=5, range_cents=range_cents)
    mark = ET.fromstring(svg).find(f"{SVG}circle")
    assert mark is not None
    return float(mark.get("cx", ""))


def test_on_the_target_the_mark_stands_in_the_middle() -> None:
    assert mark_x(0) == MIDDLE


def test_flat_is_left_and_sharp_is_right_at_equal_distances() -> None:
    assert mark_x(-20) < MIDDLE < mark_x(20)
    assert MIDDLE - mark_x(-20) == pytest.approx(mark_x(20) - MIDDLE)


@given(st.floats(-50, 50), st.floats(-50, 50))
def test_the_place_of_the_mark_is_linear_in_cents(one: float, other: float) -> None:
    # A linear rule: distances on paper are to each other as the cents. Two decimals are written.
    unit = mark_x(50) - MIDDLE
    assert mark_x(one) - mark_x(other) == pytest.approx((one - other) / 50 * unit, abs=0.011)


def test_a_prediction_is_hollow_and_dashed_where_a_measurement_is_ink() -> None:
    drawn = {
        is_predicted: ET.fromstring(
            draw_offset(5, 9, tolerance_cents=10, is_predicted=is_predicted)
        )
        for is_predicted in (False, True)
    }
    marks = {is_predicted: root.find(f"{SVG}circle") for is_predicted, root in drawn.items()}
    dashed = {
        is_predicted: [each.tag for each in root.iter() if each.get("stroke-dasharray")]
        for is_predicted, root in drawn.items()
    }
    measured, predicted = marks[False], marks[True]
    assert measured is not None and predicted is not None
    assert measured.get("fill") == "currentColor" != predicted.get("fill")
    assert measured.get("cx") == predicted.get("cx")
    assert (len(dashed[False]), len(dashed[True])) == (0, 2)  # its mark and its bar
    assert (drawn[True].findtext(f"{SVG}title") or "").startswith("predicted +5.0 cents")
    assert "predicted" not in (drawn[False].findtext(f"{SVG}title") or "")


@pytest.mark.parametrize("offset_cents", [-51, 130])
def test_an_offset_beyond_the_rule_becomes_a_wedge_that_points_outwards(
    offset_cents: float,
) -> None:
    root = ET.fromstring(draw_offset(offset_cents, 2, tolerance_cents=5))
    wedge = root.find(f"{SVG}polygon")

    assert root.find(f"{SVG}circle") is None
    assert wedge is not None
    base, tip, _ = (float(pair.split(",")[0]) for pair in wedge.get("points", "").split())
    assert (tip - base) * offset_cents > 0
    assert 0 <= tip <= OFFSET_VIEW_BOX[2]


@pytest.mark.parametrize(
    ("offset_cents", "uncertainty_cents", "words"),
    [
        (
            -3.24,
            1.06,
            "−3.2 cents, give or take 1.1: flat of the target, within the tolerance of 5 cents",
        ),
        (12, None, "+12.0 cents: sharp of the target, outside the tolerance of 5 cents"),
        (0.01, 0.5, "0.0 cents, give or take 0.5: on the target, within the tolerance of 5 cents"),
    ],
)
def test_the_words_say_number_side_and_tolerance(
    offset_cents: float, uncertainty_cents: float | None, words: str
) -> None:
    assert describe_offset(offset_cents, uncertainty_cents, tolerance_cents=5) == words
    assert words in draw_offset(offset_cents, uncertainty_cents, tolerance_cents=5)
