from dataclasses import replace

import numpy as np
import pytest

from analysis.acoustics import (
    Measure,
    TubeModel,
    change_geometry,
    decode_holes,
    encode_states,
    find_air,
    find_resonances,
    find_sensitivities,
    list_geometries,
    list_parameters,
    load_geometry,
    sensitivities,
)
from analysis.acoustics.sensitivity_tables import SensitivityTables
from analysis.keywork import load_layout, parse_fingering
from tests.analysis.acoustics.test_screening import draw_hole_sets

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
MODEL = TubeModel(SOPRANO, find_air())
STATES = np.array(
    [
        encode_states(parse_fingering(text, load_layout("soprano-17-6")))
        for text in ("T 123 | 123 | right E", "T 12- | ---", "T 123 | -2- | right cross")
    ]
)
FIRST = find_resonances(MODEL, STATES)[:, 0]
PARAMETERS = list_parameters(SOPRANO)
SLOPES = find_sensitivities(MODEL, STATES, FIRST, PARAMETERS)


@pytest.mark.parametrize("measure", list(Measure))
@pytest.mark.parametrize("step", [8, pytest.param(4, marks=pytest.mark.long_run)])
def test_sensitivities_are_the_differences_of_whole_predictions(
    measure: Measure, step: int
) -> None:
    columns = [i for i, parameter in enumerate(PARAMETERS) if parameter.measure is measure]
    # Every fourth hole is enough, and quick; for every day every eighth.
    for column in columns[::step]:
        parameter = PARAMETERS[column]
        ends = []
        for change in (0.01, -0.01):
            changed = TubeModel(change_geometry(SOPRANO, [parameter], [change]), MODEL.air)
            ends.append(find_resonances(changed, STATES)[:, 0])
        assert SLOPES[:, column] == pytest.approx((ends[0] - ends[1]) / 0.02, abs=0.2, rel=0.01)


def test_a_lower_open_hole_sounds_lower() -> None:
    # The highest open hole of D4 (T 12-) is that of the left third finger.
    ids = [(p.measure, p.hole_id) for p in PARAMETERS]
    assert -8 < SLOPES[1, ids.index((Measure.PLACE, "l3"))] < -1
    assert SLOPES[1, ids.index((Measure.RADIUS, "l3"))] > 0


def test_a_closed_pad_does_not_care_how_high_it_would_stand() -> None:
    column = next(i for i, p in enumerate(PARAMETERS) if p == _pad_of("low-e"))
    assert SLOPES[0, column] == 0


@pytest.mark.parametrize(
    ("geometry_id", "count"),
    [
        ("b-flat-soprano", 60),
        *(
            pytest.param(geometry.id, 500, marks=pytest.mark.long_run)
            for geometry in list_geometries()
        ),
    ],
)
def test_tabulated_sensitivities_equal_those_computed_one_by_one(
    geometry_id: str, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    geometry = next(each for each in list_geometries() if each.id == geometry_id)
    layout, model = load_layout(geometry.layout_id), TubeModel(geometry, find_air())
    parameters = list_parameters(geometry)
    states = decode_holes(draw_hole_sets(layout, count), len(layout.holes))
    cents = find_resonances(model, states)
    rows, columns = np.nonzero(np.isfinite(cents))
    sample = states[rows], cents[rows, columns]
    # where a resonance is weak the differences of the whole tube are curved: smaller steps
    steps = {measure: step / 10.0 for measure, step in sensitivities.STEPS.items()}
    monkeypatch.setattr(sensitivities, "STEPS", steps)
    plain = find_sensitivities(model, *sample, parameters)
    found = SensitivityTables(model, parameters).find(*sample)
    size = np.linalg.norm(plain, axis=1, keepdims=True)
    errors = np.max(np.abs(found - plain) / size, axis=1)
    assert np.median(errors) < 2e-6
    assert errors.max() < 1e-3


def test_holes_that_change_places_by_a_step_are_refused() -> None:
    first, second, *others = SOPRANO.holes
    near = replace(SOPRANO, holes=(first, replace(second, x_mm=first.x_mm + 0.005), *others))
    with pytest.raises(ValueError, match="nearer than"):
        SensitivityTables(TubeModel(near, MODEL.air), PARAMETERS)


def _pad_of(hole_id: str) -> object:
    return next(p for p in PARAMETERS if p.measure is Measure.PAD and p.hole_id == hole_id)
