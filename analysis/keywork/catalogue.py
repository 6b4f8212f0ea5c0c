"""The layouts that ship with the program."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from analysis.keywork.errors import UnknownLayout
from analysis.keywork.layout import Layout
from analysis.keywork.reading import read_layout


@cache
def layout_ids() -> tuple[str, ...]:
    """List the ids of all layouts by name."""
    names = (file.name for file in _files())
    return tuple(sorted(name.removesuffix(".toml") for name in names if name.endswith(".toml")))


@cache
def load_layout(layout_id: str) -> Layout:
    """Load a layout by its id; each is read and checked once.

    Raises `UnknownLayout` with the known ids, or `LayoutError` if the file can't be used.

    >>> load_layout("soprano-17-6").name
    'Soprano, 17 keys and 6 rings'
    """
    if layout_id not in layout_ids():
        raise UnknownLayout(layout_id, layout_ids())
    file = next(file for file in _files() if file.name == f"{layout_id}.toml")
    return read_layout(file.read_text(encoding="utf-8"), source=layout_id)


def layouts_for_kind(kind_id: str) -> tuple[Layout, ...]:
    """List the layouts that serve a kind of clarinet (an id of `analysis.pitch.KINDS`).

    >>> [layout.id for layout in layouts_for_kind("b-flat-bass")]
    ['bass-low-c', 'bass-low-eb']
    """
    layouts = map(load_layout, layout_ids())
    return tuple(layout for layout in layouts if kind_id in layout.kinds)


def _files() -> list[Traversable]:
    return list(files("analysis.keywork").joinpath("layouts").iterdir())
