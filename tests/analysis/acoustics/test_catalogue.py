import pytest

from analysis.acoustics import UnknownGeometry, list_geometries, load_geometry
from analysis.keywork import load_layout
from analysis.pitch import KINDS


@pytest.mark.parametrize(
    ("kind_id", "layout_id"),
    [
        ("b-flat-soprano", "soprano-17-6"),
        ("a-soprano", "soprano-17-6"),
        ("c-soprano", "soprano-17-6"),
        ("d-soprano", "soprano-17-6"),
        ("e-flat-sopranino", "soprano-17-6"),
        ("b-flat-bass", "bass-low-eb"),
        ("b-flat-bass", "bass-low-c"),
        ("b-flat-bass-bass-clef", "bass-low-c"),
        ("b-flat-soprano", "soprano-20-7"),
        ("a-soprano", "soprano-20-7"),
        ("c-soprano", "soprano-20-7"),
        ("d-soprano", "soprano-20-7"),
        ("e-flat-sopranino", "soprano-20-7"),
        ("a-basset-clarinet", "basset-clarinet-low-c"),
        ("f-basset-horn", "basset-horn-low-c"),
        ("e-flat-alto", "alto-low-eb"),
        ("e-flat-contra-alto", "contra-low-eb"),
        ("e-flat-contra-alto", "contra-low-c"),
        ("b-flat-contrabass", "contra-low-eb"),
        ("b-flat-contrabass", "contra-low-c"),
    ],
)
def test_tubes_ship_for_the_family_but_for_the_german_system(kind_id: str, layout_id: str) -> None:
    geometry = load_geometry(kind_id, layout_id)
    assert geometry.hole_ids == tuple(hole.id for hole in load_layout(layout_id).holes)
    kind = KINDS[kind_id]
    shift = kind.transposition.cents - kind.treble_shift_cents
    assert geometry.treble_transposition_cents == shift


def test_every_tube_says_that_it_is_no_measured_one() -> None:
    for geometry in list_geometries():
        assert "from memory" in geometry.provenance.lower()
        assert "Nothing here was measured" in geometry.provenance


@pytest.mark.parametrize(
    ("kind_id", "layout_id", "known"),
    [
        ("b-flat-soprano", "soprano-german", "exist with soprano-17-6 or soprano-20-7:"),
        ("e-flat-alto", "bass-low-eb", "exist with alto-low-eb:"),
        ("b-flat-soprano", "bass-low-c", "exist with soprano-17-6 or soprano-20-7:"),
        ("x", "y", "exist for: .*B-flat soprano.*found by measuring"),
    ],
)
def test_an_unknown_tube_is_refused_with_what_is_known(
    kind_id: str, layout_id: str, known: str
) -> None:
    with pytest.raises(UnknownGeometry, match=known):
        load_geometry(kind_id, layout_id)


def test_fingerprints_tell_tubes_apart() -> None:
    prints = [geometry.fingerprint for geometry in list_geometries()]
    assert len(set(prints)) == len(prints)
