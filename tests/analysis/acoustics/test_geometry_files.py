from dataclasses import replace
from typing import Any

import pytest

from analysis.acoustics import GeometryError, list_geometries, load_geometry
from analysis.acoustics.geometry_files import read_geometry, write_geometry

SOPRANO = load_geometry("b-flat-soprano", "soprano-17-6")
TEXT = write_geometry(SOPRANO, "a remark")


def test_what_is_written_is_read_again() -> None:
    for geometry in list_geometries():
        assert read_geometry(write_geometry(geometry, "remark"), geometry.id) == geometry


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[[holes]]", "[[holes", "file"),
        ('kinds = ["b-flat-soprano"]', 'kinds = ["xylophone"]', "no known kind"),
        ("pad_rim_mm = 1.5", 'pad_rim_mm = "wide"', "a number was expected"),
        ("provenance =", "provenience =", "field 'provenance'"),
        ('id = "l1"', 'id = "l9"', "were found, not"),
        ("bore_mm = [", "bore_mm = [[1, 2, 3],", "a pair was expected"),
        ("bore_mm = [", "bore_mm = [[900, 8],", "stations must rise"),
        ('vents = ["register"]', "vents = 3", "a list of texts"),
    ],
)
def test_a_broken_file_is_refused_with_the_place(old: str, new: str, message: str) -> None:
    assert old in TEXT
    with pytest.raises(GeometryError, match=message):
        read_geometry(TEXT.replace(old, new), "broken")


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("x_mm", 5000.0, "not on the tube"),
        ("radius_mm", 0.01, "no hole's"),
        ("chimney_mm", 100.0, "too far"),
        ("pad_height_mm", 50.0, "mm high"),
        ("iris_radius_mm", 15.0, "smaller than the hole"),
    ],
)
def test_a_hole_that_no_clarinet_has_is_refused(field: str, value: float, message: str) -> None:
    changed: dict[str, Any] = {field: value}
    first = replace(SOPRANO.holes[0], **changed)
    odd = replace(SOPRANO, holes=(first, *SOPRANO.holes[1:]))
    with pytest.raises(GeometryError, match=message):
        read_geometry(write_geometry(odd, "odd"), "odd")
