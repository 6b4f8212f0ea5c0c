from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from analysis.acoustics import (
    Linkage,
    Screened,
    Screening,
    TubeModel,
    decode_holes,
    find_air,
    find_fingerprint,
    find_resonances,
    list_geometries,
    load_geometry,
    predict,
)
from analysis.acoustics.linkage import Bits
from analysis.acoustics.resonances import find_heights
from analysis.keywork import Layout, State, load_layout, ordinary_fingerings, parse_fingering

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
LAYOUT = load_layout("soprano-17-6")


def draw_hole_sets(layout: Layout, count: int) -> Bits:
    """Draw hole sets three keys or fewer from an ordinary fingering, some with half-holes."""
    linkage, rng = Linkage(layout), np.random.default_rng(11)
    keys = [
        rng.choice(linkage.find_within(linkage.encode(one.fingering), 3), 20)
        for one in ordinary_fingerings(layout)
    ]
    shaded = [
        linkage.encode(one.fingering.replaced(key.id, State.SHADED))
        for key in layout.keys
        for one in ordinary_fingerings(layout)
        if State.SHADED in key.states
    ]
    holes = linkage.find_holes(np.array([*np.concatenate(keys), *shaded], dtype=np.uint64))
    return rng.choice(np.unique(holes), count, replace=False)


@pytest.mark.parametrize(
    ("geometry_id", "count"),
    [
        ("b-flat-soprano", 300),
        ("bass-low-c", 200),
        *(
            pytest.param(geometry.id, 700, marks=pytest.mark.long_run)
            for geometry in list_geometries()
        ),
    ],
)
def test_a_screening_equals_the_exact_zeros(geometry_id: str, count: int) -> None:
    geometry = next(each for each in list_geometries() if each.id == geometry_id)
    layout, model = load_layout(geometry.layout_id), TubeModel(geometry, find_air())
    holes = draw_hole_sets(layout, count)
    states = decode_holes(holes, len(layout.holes))
    found, exact = Screening(model).find(holes), find_resonances(model, states)
    errors = np.abs(exact - geometry.treble_transposition_cents - found.written_cents)
    assert np.array_equal(np.isnan(exact), np.isnan(found.written_cents))
    assert np.nanmax(errors[:, :3]) < 1.0
    # above the third a zero may be shallow
    assert np.nanmax(errors) < 4.0
    assert np.nanpercentile(errors, 90) < 0.1
    heights = find_heights(model, states, exact)
    assert np.nanmax(np.abs(found.heights / heights - 1.0)) < 0.15
    assert np.nanpercentile(np.abs(found.heights / heights - 1.0), 90) < 0.001


def test_a_known_fingering_is_found_at_its_pitch_and_height() -> None:
    linkage, screening = Linkage(LAYOUT), Screening(TubeModel(SOPRANO, find_air()))
    for text in ("T R 123 | -2- | right cross", "T R (1)23 | 123"):
        fingering = parse_fingering(text, LAYOUT)
        clarion = predict(fingering, SOPRANO)[1]
        keys = np.array([linkage.encode(fingering)], dtype=np.uint64)
        found = screening.find(linkage.find_holes(keys))
        assert found.written_cents[0, 1] == pytest.approx(clarion.written_cents, abs=0.01)
        assert found.heights[0, 1] == pytest.approx(clarion.height, rel=1e-3)


def test_what_is_asked_for_together_or_one_after_the_other_is_the_same() -> None:
    holes = draw_hole_sets(LAYOUT, 40)
    model = TubeModel(SOPRANO, find_air())
    together, alone = Screening(model), Screening(model)
    asked = np.concatenate([holes[::-1], holes[:7]])
    whole = together.find(asked)
    assert np.array_equal(whole.holes, asked)
    parts = [alone.find(holes[place : place + 1]) for place in range(len(holes))]
    for column, of in zip(whole[1:], zip(*(part[1:] for part in parts), strict=True), strict=True):
        expected = np.concatenate(of)
        assert np.allclose(column[: len(holes)], expected[::-1], rtol=1e-6, equal_nan=True)
        assert np.allclose(column[len(holes) :], expected[:7], rtol=1e-6, equal_nan=True)
    assert (np.diff(together.known.holes.astype(np.int64)) > 0).all()
    assert np.array_equal(together.known.holes, alone.known.holes)


def test_what_was_computed_before_is_not_computed_again() -> None:
    holes = draw_hole_sets(LAYOUT, 30)
    stated = np.full((len(holes), 5), 1.0, dtype=np.float32)
    screening = Screening(TubeModel(SOPRANO, find_air()))
    screening.add(Screened(holes, stated, stated + 1.0))
    found = screening.find(holes)
    assert (found.written_cents == 1.0).all()
    assert (found.heights == 2.0).all()
    assert len(screening.find(holes[:0]).holes) == 0


def test_threads_that_ask_at_once_get_what_one_gets() -> None:
    holes = draw_hole_sets(LAYOUT, 60)
    model = TubeModel(SOPRANO, find_air())
    expected = Screening(model).find(holes).written_cents
    shared = Screening(model)
    places = [np.arange(first, first + 30) for first in range(0, 31, 10)]
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda some: shared.find(holes[some]).written_cents, places))
    for some, cents in zip(places, found, strict=True):
        assert np.allclose(cents, expected[some], rtol=1e-6, equal_nan=True)
    assert len(shared.known.holes) == len(holes)


def test_a_fingerprint_changes_with_whatever_a_screening_depends_on() -> None:
    wider = replace(SOPRANO, pad_rim_mm=SOPRANO.pad_rim_mm + 0.1)
    prints = {
        find_fingerprint(SOPRANO, LAYOUT),
        find_fingerprint(wider, LAYOUT),
        find_fingerprint(SOPRANO, replace(LAYOUT, version=LAYOUT.version + 1)),
        find_fingerprint(SOPRANO, replace(LAYOUT, together=frozenset())),
        find_fingerprint(SOPRANO, LAYOUT, temperature_c=20.0),
    }
    assert len(prints) == 5
    same = replace(SOPRANO, provenance="other words")
    assert find_fingerprint(same, LAYOUT) == find_fingerprint(SOPRANO, LAYOUT)
