import math

import numpy as np
import pytest

from analysis.acoustics import Measure, change_geometry, list_parameters, load_geometry

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
PARAMETERS = list_parameters(SOPRANO)


def test_every_hole_and_the_bore_have_their_measures() -> None:
    measures = {(p.hole_id, p.measure) for p in PARAMETERS}
    assert len(measures) == len(PARAMETERS)
    assert ("l1", Measure.PLACE) in measures
    assert ("throat-a", Measure.PAD) in measures
    # A finger covers this hole; it has no pad.
    assert ("l1", Measure.PAD) not in measures
    assert (None, Measure.BELL_PLACE) in measures


def test_the_register_vent_is_known_worse_than_other_holes() -> None:
    spreads = {p.hole_id: p.spread for p in PARAMETERS if p.measure is Measure.RADIUS}
    assert spreads["register"] == max(spreads.values())
    assert spreads["l1"] < spreads["register"]


def test_no_change_leaves_the_tube_as_it_is() -> None:
    assert change_geometry(SOPRANO, PARAMETERS, np.zeros(len(PARAMETERS))) == SOPRANO


@pytest.mark.parametrize(
    ("measure", "hole_id", "change", "field", "expected"),
    [
        (Measure.PLACE, "l1", 2.0, "x_mm", 2.0),
        (Measure.RADIUS, "l1", math.log(2), "radius_mm", None),
        (Measure.CHIMNEY, "l1", math.log(2), "chimney_mm", None),
        (Measure.PAD, "throat-a", math.log(2), "pad_height_mm", None),
    ],
)
def test_a_hole_changes_in_one_measure(
    measure: Measure, hole_id: str, change: float, field: str, expected: float | None
) -> None:
    parameter = next(p for p in PARAMETERS if (p.measure, p.hole_id) == (measure, hole_id))
    changed = change_geometry(SOPRANO, [parameter], [change])
    pairs = [p for p in zip(SOPRANO.holes, changed.holes, strict=True) if p[0] != p[1]]
    assert [before.id for before, _ in pairs] == [hole_id]
    before, after = (getattr(hole, field) for hole in pairs[0])
    assert after == pytest.approx(before + expected if expected else 2 * before)


def test_the_bell_moves_without_the_body() -> None:
    parameter = next(p for p in PARAMETERS if p.measure is Measure.BELL_PLACE)
    changed = change_geometry(SOPRANO, [parameter], [5.0])
    assert changed.length_mm == SOPRANO.length_mm + 5.0
    assert changed.bore[:3] == SOPRANO.bore[:3]
