"""The ladder of a range: places by closed formula, parts that every reference finds."""

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.drawing.range import LadderScale, Rung, draw_ladder_parts, draw_rung

SCALE = LadderScale(30.0, 10.0)
SVG = "{http://www.w3.org/2000/svg}"


def parts(*, scale: LadderScale = SCALE) -> ET.Element:
    """What the rungs refer to."""
    return ET.fromstring(draw_ladder_parts(scale))


def ids(root: ET.Element) -> list[str]:
    """The ids in a drawing, in order."""
    return [each.attrib["id"] for each in root.iter() if "id" in each.attrib]


def rung(kind: Rung, **facts: float) -> ET.Element:
    """One rung."""
    return ET.fromstring(draw_rung(kind, SCALE, **facts))


def uses(root: ET.Element) -> dict[str, str | None]:
    """What a rung refers to, with where across it stands."""
    return {each.attrib["href"]: each.get("x") for each in root.iter("use")}


@pytest.mark.parametrize(
    ("offset_cents", "place"),
    # From -30 to +30 cents is 0 to 100 per cent: 50 + offset * 100 / 60 (closed formula).
    [(0.0, "50%"), (-30.0, "0%"), (30.0, "100%"), (15.0, "75%"), (-10.0, "33.33%")],
)
def test_a_mark_stands_in_proportion_to_its_offset(offset_cents: float, place: str) -> None:
    drawn = rung(Rung.IN_TUNE, offset_cents=offset_cents, uncertainty_cents=1.0)
    assert uses(drawn) == {"#rung-rail": None, "#rung-in-tune": place}


def test_the_bar_is_the_uncertainty_to_both_sides_and_ends_at_the_end_of_the_rung() -> None:
    (bar,) = rung(Rung.IN_TUNE, offset_cents=3.0, uncertainty_cents=6.0).iter("line")
    assert (bar.attrib["x1"], bar.attrib["x2"]) == ("45%", "65%")
    (bar,) = rung(Rung.PREDICTED, offset_cents=20.0, uncertainty_cents=90.0).iter("line")
    assert (bar.attrib["x1"], bar.attrib["x2"]) == ("0%", "100%")


def test_the_stripe_is_the_tolerance_about_the_line_and_never_wider_than_the_rung() -> None:
    for scale, x, width in ((SCALE, "33.33%", "33.33%"), (LadderScale(15.0, 40.0), "0%", "100%")):
        (stripe,) = parts(scale=scale).iter(f"{SVG}rect")
        assert (stripe.attrib["x"], stripe.attrib["width"]) == (x, width)


@pytest.mark.parametrize(
    ("kind", "offset_cents", "part", "x"),
    [
        (Rung.IN_TUNE, 30.1, "#rung-sharper", "100%"),
        (Rung.IN_TUNE, -31.0, "#rung-flatter", "0"),
        (Rung.PREDICTED, 31.0, "#rung-predicted-sharper", "100%"),
        (Rung.PREDICTED, -31.0, "#rung-predicted-flatter", "0"),
    ],
)
def test_what_lies_beyond_the_rung_becomes_a_wedge_at_its_end(
    kind: Rung, offset_cents: float, part: str, x: str
) -> None:
    assert uses(rung(kind, offset_cents=offset_cents, uncertainty_cents=1.0)) == {
        "#rung-rail": None,
        part: x,
    }


def test_where_nothing_serves_the_line_is_broken_and_nothing_marks_a_pitch() -> None:
    assert uses(rung(Rung.OPEN)) == {"#rung-broken": None}
    assert uses(rung(Rung.ELSEWHERE, offset_cents=15.0)) == {
        "#rung-broken": None,
        "#rung-elsewhere": "75%",
    }
    assert uses(rung(Rung.SILENT)) == {"#rung-broken": None, "#rung-silent": "50%"}
    assert uses(rung(Rung.ORDINARY)) == {"#rung-rail": None}
    broken = next(each for each in parts().iter(f"{SVG}symbol") if each.get("id") == "rung-broken")
    assert not list(broken.iter(f"{SVG}rect")), "no stripe, so that it is a hole"


def test_every_mark_differs_in_form_and_not_only_in_colour() -> None:
    shapes = {each.get("id"): each for each in parts().iter() if each.get("id")}
    in_tune, predicted = shapes["rung-in-tune"], shapes["rung-predicted"]
    assert in_tune.attrib["fill"] == "currentColor"
    assert "stroke-dasharray" not in in_tune.attrib
    near, elsewhere = shapes["rung-near"], shapes["rung-elsewhere"]
    assert {each.attrib["fill"] for each in (near, elsewhere)} == {predicted.attrib["fill"]}
    assert float(near.attrib["stroke-width"]) > 2 * float(elsewhere.attrib["stroke-width"])
    assert not [each for each in (near, elsewhere) if "stroke-dasharray" in each.attrib]
    assert predicted.attrib["fill"] != "currentColor"
    assert "stroke-dasharray" in predicted.attrib
    (bar,) = rung(Rung.PREDICTED, offset_cents=0.0, uncertainty_cents=9.0).iter("line")
    assert "stroke-dasharray" in bar.attrib


@given(
    kind=st.sampled_from(Rung),
    offset_cents=st.none() | st.floats(-500, 500),
    uncertainty_cents=st.none() | st.floats(0.01, 500),
)
def test_every_rung_finds_its_parts_and_stays_within_its_box(
    kind: Rung, offset_cents: float | None, uncertainty_cents: float | None
) -> None:
    text = draw_rung(kind, SCALE, offset_cents=offset_cents, uncertainty_cents=uncertainty_cents)
    root = ET.fromstring(text)
    known = ids(parts())
    assert all(href.removeprefix("#") in known for href in uses(root))
    assert all(0 <= float(each) <= 100 for each in re.findall(r'"([-\d.]+)%"', text))
    assert len(text) < 400, "hundreds of them stand on one page"


def test_parts_have_ids_of_their_own() -> None:
    found = ids(parts())
    assert len(found) == len(set(found))


def test_the_pictures_are_silent_since_the_words_stand_beside_them() -> None:
    for text in (draw_rung(Rung.OPEN, SCALE), draw_ladder_parts(SCALE)):
        assert 'aria-hidden="true"' in text
        assert "style=" not in text


def test_the_ends_of_the_scale_are_numbers() -> None:
    assert SCALE.end_words == ("−30", "+30")
