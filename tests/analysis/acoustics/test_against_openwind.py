"""Cross-check with openwind (Inria, GPL), an independent program; a test-only dependency.

Same air (Chaigne & Kergomard's constants) and exact Bessel losses in both. Its side holes follow
Chaigne & Kergomard's length corrections, ours Lefebvre & Scavone (2012), hence the wider bound.
"""

import math
import warnings
from dataclasses import replace
from importlib import import_module
from types import ModuleType

import numpy as np
import pytest

from analysis.acoustics import (
    BoreStation,
    Geometry,
    TubeModel,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.acoustics.transfer_matrices import Real
from tests.tools import report_missing

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
HOLE_IDS = ("l3", "r1", "r3")
CYLINDER = ((0.0, 7.5), (600.0, 7.5))
WITH_BELL = ((0.0, 7.5), (480.0, 7.5), (600.0, 15.0))


def load_openwind() -> ModuleType:
    with warnings.catch_warnings():
        # openwind 0.12 imports names that scipy has moved.
        warnings.simplefilter("ignore")
        try:
            return import_module("openwind")
        except ImportError:
            report_missing("openwind (pip install openwind), the independent tube model")


def make_tube(bore: tuple[tuple[float, float], ...]) -> Geometry:
    """A simple tube with three holes that count; the other holes are specks."""
    holes = tuple(
        replace(hole, radius_mm=4.0, chimney_mm=8.0, pad_height_mm=None, iris_radius_mm=None)
        if hole.id in HOLE_IDS
        else replace(hole, radius_mm=0.3, chimney_mm=1.0, iris_radius_mm=None)
        for hole in SOPRANO.holes
    )
    stations = tuple(BoreStation(*pair) for pair in bore)
    return replace(SOPRANO, bore=stations, holes=holes, reed=None)


def find_ours(geometry: Geometry, open_ids: tuple[str, ...]) -> Real:
    states = np.array([[hole.id in open_ids for hole in geometry.holes]], dtype=np.int8)
    return np.asarray(find_resonances(TubeModel(geometry, find_air()), states)[0, :3])


def find_theirs(
    openwind: ModuleType,
    geometry: Geometry,
    open_ids: tuple[str, ...],
    near: Real,
    *,
    has_holes: bool,
) -> Real:
    holes = [hole for hole in geometry.holes if hole.id in HOLE_IDS]
    rows = [[h.id, h.x_mm / 1000, h.chimney_mm / 1000, h.radius_mm / 1000] for h in holes]
    chart = [["label", "note"], *([h.id, "o" if h.id in open_ids else "x"] for h in holes)]
    found = []
    for cents in near:
        hz = 440 * 2 ** ((cents + np.arange(-30.0, 30.5, 1.0) - 6900) / 1200)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            made = openwind.ImpedanceComputation(
                hz,
                [[s.x_mm / 1000, s.radius_mm / 1000] for s in geometry.bore],
                [["label", "position", "chimney", "radius"], *rows] if has_holes else [],
                chart if has_holes else [],
                temperature=26,
                humidity=0,
                carbon=0,
                ref_phy_coef="Chaigne_Kergomard",
                losses="bessel",
                radiation_category="unflanged_non_causal",
                spherical_waves=False,
                matching_volume=True,
                note="note" if has_holes else None,
            )
        values = np.imag(1 / made.impedance)
        at = int(np.nonzero((values[:-1] < 0) & (values[1:] >= 0))[0][0])
        share = values[at] / (values[at] - values[at + 1])
        found.append(6900 + 1200 * math.log2(hz[at] / 440) + share)
    return np.array(found)


@pytest.mark.parametrize(("bore", "bound"), [(CYLINDER, 0.2), (WITH_BELL, 0.3)])
def test_a_tube_without_holes_agrees_with_openwind(
    bore: tuple[tuple[float, float], ...], bound: float
) -> None:
    openwind = load_openwind()
    tube = make_tube(bore)
    specks = tuple(replace(hole, radius_mm=0.3, chimney_mm=1.0) for hole in tube.holes)
    tube = replace(tube, holes=specks)
    ours = find_ours(tube, ())
    theirs = find_theirs(openwind, tube, (), ours, has_holes=False)
    assert ours == pytest.approx(theirs, abs=bound)


@pytest.mark.parametrize(
    "open_ids",
    [(), ("r3",), ("r1",), ("l3",), ("r1", "r3"), ("l3", "r3"), ("l3", "r1", "r3")],
    ids=lambda ids: "+".join(ids) or "closed",
)
def test_a_tube_with_three_holes_agrees_with_openwind(open_ids: tuple[str, ...]) -> None:
    openwind = load_openwind()
    tube = make_tube(CYLINDER)
    ours = find_ours(tube, open_ids)[:2]
    theirs = find_theirs(openwind, tube, open_ids, ours, has_holes=True)
    assert ours == pytest.approx(theirs, abs=4.0)
