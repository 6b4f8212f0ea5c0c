"""The history shows takes where they lie, by form and in words."""

import xml.etree.ElementTree as ET
from datetime import date

import pytest

from webapp.drawing.history import HistoryPoint, describe_history, draw_history

SVG = "{http://www.w3.org/2000/svg}"
POINTS = (
    HistoryPoint(date(2026, 3, 1), -6.0, 0.5, "pp"),
    HistoryPoint(date(2026, 3, 1), -2.0, 0.5, "ff"),
    HistoryPoint(date(2026, 3, 31), 4.0, 0.5, "mf"),
    HistoryPoint(date(2026, 5, 30), 0.0, 0.5, None),
)


def draw(points: tuple[HistoryPoint, ...] = POINTS) -> ET.Element:
    return ET.fromstring(draw_history(points, tolerance_cents=10.0))


def marks(root: ET.Element) -> list[ET.Element]:
    """The form of each take, without its line of uncertainty."""
    return [list(take)[1] for take in root.findall(f"{SVG}g[@class='take']")]


def x_of(mark: ET.Element) -> float:
    if mark.tag == f"{SVG}rect":
        return float(mark.get("x", "")) + float(mark.get("width", "")) / 2
    return float(mark.get("cx", ""))


def test_dynamics_are_told_by_form_not_by_colour() -> None:
    ring, square, disc, cross = marks(draw())
    assert (ring.tag, ring.get("stroke")) == (f"{SVG}circle", "currentColor")
    assert ring.get("fill") != "currentColor"
    assert (square.tag, square.get("fill")) == (f"{SVG}rect", "currentColor")
    assert (disc.tag, disc.get("fill")) == (f"{SVG}circle", "currentColor")
    assert cross.tag == f"{SVG}path"


def test_days_lie_as_far_apart_as_they_were() -> None:
    ring, square, disc, _ = marks(draw())
    end = draw((*POINTS[:3], HistoryPoint(date(2026, 5, 30), 0.0, 0.5, "mf")))
    last = marks(end)[3]
    assert x_of(ring) == pytest.approx(x_of(square), abs=0.02)
    # 30 of 90 days
    assert (x_of(disc) - x_of(ring)) / (x_of(last) - x_of(ring)) == pytest.approx(1 / 3, abs=0.01)


def test_higher_is_higher() -> None:
    ring, _, disc, _ = marks(draw())
    assert float(disc.get("cy", "")) < float(ring.get("cy", ""))


def test_the_words_say_what_the_picture_shows() -> None:
    assert describe_history(POINTS) == (
        "4 takes on 3 days, from 1 Mar 2026 at −4 cents to 30 May 2026 at 0 cents; all lie between "
        "−6 and +4 cents. Median by dynamic, in cents: soft −6, middle +4, loud −2."
    )
    assert describe_history(()) == "There are no measured takes."
    assert describe_history(POINTS[:1]) == "1 take on 1 Mar 2026, at −6 cents."


def test_only_forms_that_occur_are_explained() -> None:
    words = [each.text for each in draw().findall(f"{SVG}g[@class='legend']/{SVG}text")]
    assert words == ["soft", "middle", "loud", "not noted"]
    words = [each.text for each in draw(POINTS[2:]).findall(f"{SVG}g[@class='legend']/{SVG}text")]
    assert words == ["middle", "not noted"]


def test_one_day_is_no_history() -> None:
    assert marks(draw(POINTS[:2])) == []


def test_nothing_leaves_the_picture() -> None:
    wide = tuple(
        HistoryPoint(date(2026, 1, 1 + day), cents, 80.0, "f")
        for day, cents in enumerate((-140.0, 0.0, 390.0))
    )
    for line in draw(wide).iter(f"{SVG}line"):
        for name in ("y1", "y2"):
            assert 0 <= float(line.get(name, "")) <= 216
