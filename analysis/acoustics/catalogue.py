"""Catalogue of the geometries (tubes) that ship with the program."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from analysis.acoustics.errors import UnknownGeometry
from analysis.acoustics.geometry import Geometry
from analysis.acoustics.geometry_files import read_geometry
from analysis.keywork import load_layout
from analysis.pitch import KINDS


@cache
def list_geometries() -> tuple[Geometry, ...]:
    """List all shipped geometries by id; each is read and checked once.

    Raises `GeometryError` if a file does not fit its layout.
    """
    return tuple(map(_read, _list_ids()))


def load_geometry(kind_id: str, layout_id: str) -> Geometry:
    """Load the tube of a kind of clarinet with a keywork.

    Args:
        kind_id: an id of `analysis.pitch.KINDS`.
        layout_id: an id of `analysis.keywork.layout_ids`.

    Raises:
        UnknownGeometry: nothing is known of that tube; the message says what is.

    Limits: plausible instruments that are in tune in equal temperament at A4 = 440 Hz and 26
    degrees C, not measured ones; `provenance` says so and should be shown.

    >>> len(load_geometry("b-flat-soprano", "soprano-17-6").holes)
    24
    """
    for geometry_id in _list_ids():
        if kind_id in _read_kinds(geometry_id) and _serves(_read(geometry_id), layout_id):
            return _read(geometry_id)
    known: dict[str, list[str]] = {}
    for geometry in list_geometries():
        for each in geometry.kind_ids:
            known.setdefault(KINDS[each].name, []).append(geometry.layout_id)
    name = KINDS[kind_id].name if kind_id in KINDS else kind_id
    raise UnknownGeometry(
        name, layout_id, known_layouts=known.get(name, []), known_kinds=", ".join(known)
    )


def _list_ids() -> list[str]:
    return sorted(file.name.removesuffix(".toml") for file in _folder().iterdir() if _is_toml(file))


@cache
def _read(geometry_id: str) -> Geometry:
    return read_geometry(_read_text(geometry_id), geometry_id)


@cache
def _read_kinds(geometry_id: str) -> frozenset[str]:
    """Read which kinds a geometry serves, without reading the rest of it and its layout."""
    lines = _read_text(geometry_id).splitlines()
    line = next(line for line in lines if line.startswith("kinds = "))
    return frozenset(tomllib.loads(line)["kinds"])


def _read_text(geometry_id: str) -> str:
    return _folder().joinpath(f"{geometry_id}.toml").read_text(encoding="utf-8")


def _serves(geometry: Geometry, layout_id: str) -> bool:
    if layout_id == geometry.layout_id:
        return True
    if layout_id not in geometry.like_layout_ids:
        return False
    return tuple(hole.id for hole in load_layout(layout_id).holes) == geometry.hole_ids


def _folder() -> Traversable:
    return files("analysis.acoustics").joinpath("geometries")


def _is_toml(file: Traversable) -> bool:
    return file.name.endswith(".toml")
