from dataclasses import replace

import numpy as np
import pytest

from analysis.acoustics import (
    Linkage,
    OutdatedScreening,
    Screening,
    TubeModel,
    decode_holes,
    find_air,
    find_fingerprint,
    find_resonances,
    load_geometry,
    predict,
    screen,
)
from analysis.keywork import load_layout, parse_fingering

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
LAYOUT = load_layout("soprano-17-6")


SHARES: list[float] = []
"""The progress that was told while the soprano was screened."""


@pytest.fixture(scope="module")
def screening() -> Screening:
    SHARES.clear()
    return screen(SOPRANO, LAYOUT, progress=SHARES.append)


def test_every_reachable_hole_state_is_screened(screening: Screening) -> None:
    assert len(screening.hole_sets.holes) > 100_000
    assert np.isfinite(screening.written_cents[:, 0]).all()
    assert np.isfinite(screening.written_cents[:, 1]).mean() > 0.99


@pytest.mark.parametrize(
    ("kind_id", "layout_id"),
    [
        ("b-flat-soprano", "soprano-17-6"),
        pytest.param("b-flat-bass", "bass-low-eb", marks=pytest.mark.long_run),
    ],
)
def test_a_screening_agrees_with_exact_predictions(
    kind_id: str, layout_id: str, screening: Screening
) -> None:
    geometry, layout = load_geometry(kind_id, layout_id), load_layout(layout_id)
    is_soprano = geometry.id == SOPRANO.id
    made = screening if is_soprano else screen(geometry, layout)
    pick = np.random.default_rng(11).choice(len(made.hole_sets.holes), 400, replace=False)
    states = decode_holes(made.hole_sets.holes[pick], len(layout.holes))
    exact = find_resonances(TubeModel(geometry, find_air()), states)
    errors = np.abs(exact - geometry.treble_transposition_cents - made.written_cents[pick])
    assert np.array_equal(np.isnan(exact), np.isnan(made.written_cents[pick]))
    assert np.nanpercentile(errors, 99, axis=0)[:3] == pytest.approx([0, 0, 0], abs=0.5)
    assert np.nanmax(errors[:, :3]) < 5
    # above the third a zero is shallow, so that single precision and six points tell less
    assert np.nanpercentile(errors[:, 3:], 99) < 3


def test_a_known_fingering_is_found_at_its_pitch_and_height(screening: Screening) -> None:
    fingering = parse_fingering("T R 123 | -2- | right cross", LAYOUT)
    clarion = predict(fingering, SOPRANO)[1]
    linkage = Linkage(LAYOUT)
    keys = np.array([linkage.encode(fingering)], dtype=np.uint64)
    place = screening.find_places(linkage.find_holes(keys))[0]
    assert screening.written_cents[place, 1] == pytest.approx(clarion.written_cents, abs=1)
    assert screening.heights[place, 1] == pytest.approx(clarion.height, rel=0.02)


def test_a_screening_survives_being_stored_and_is_the_same_every_time(
    screening: Screening,
) -> None:
    stored = screening.to_bytes()
    read = Screening.from_bytes(stored, fingerprint=find_fingerprint(SOPRANO, LAYOUT))
    assert read.to_bytes() == stored
    assert screen(SOPRANO, LAYOUT).to_bytes() == stored


def test_an_outdated_or_broken_screening_is_refused(screening: Screening) -> None:
    stored = screening.to_bytes()
    with pytest.raises(OutdatedScreening, match="Make them again"):
        Screening.from_bytes(stored, fingerprint="other")
    flipped = stored[:-1] + bytes([stored[-1] ^ 1])  # as long as it was: only its checksum tells
    for broken in (b"", b"nothing", stored[:1000], flipped):
        with pytest.raises(OutdatedScreening, match="Make them again"):
            Screening.from_bytes(broken, fingerprint=screening.fingerprint)


def test_a_fingerprint_changes_with_whatever_a_screening_depends_on() -> None:
    wider = replace(SOPRANO, pad_rim_mm=SOPRANO.pad_rim_mm + 0.1)
    prints = {
        find_fingerprint(SOPRANO, LAYOUT),
        find_fingerprint(wider, LAYOUT),
        find_fingerprint(SOPRANO, replace(LAYOUT, version=LAYOUT.version + 1)),
        find_fingerprint(SOPRANO, replace(LAYOUT, together=frozenset())),
        find_fingerprint(SOPRANO, LAYOUT, temperature_c=20.0),
        find_fingerprint(SOPRANO, LAYOUT, shaded_key_ids=["l1"]),
    }
    assert len(prints) == 6
    same = replace(SOPRANO, provenance="other words")
    assert find_fingerprint(same, LAYOUT) == find_fingerprint(SOPRANO, LAYOUT)


@pytest.mark.usefixtures("screening")
def test_progress_rises_from_nothing_to_all() -> None:
    assert SHARES[0] == 0.0
    assert SHARES[-1] == 1.0
    assert sorted(SHARES) == SHARES


def test_shaded_holes_are_screened_where_asked_for() -> None:
    made = screen(SOPRANO, LAYOUT, shaded_key_ids=["l1"])
    linkage = Linkage(LAYOUT)
    shaded = parse_fingering("T R (1)23 | 123", LAYOUT)
    keys = np.array([linkage.encode(shaded)], dtype=np.uint64)
    place = made.find_places(linkage.find_holes(keys))[0]
    expected = [one.written_cents for one in predict(shaded, SOPRANO)]
    found = made.written_cents[place]
    assert found[np.isfinite(found)] == pytest.approx(expected, abs=0.5)
