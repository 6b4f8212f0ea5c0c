"""Catalogue of the layouts that ship with the program."""

from __future__ import annotations

from functools import cache

from analysis.keywork.errors import UnknownLayout
from analysis.keywork.layout import Layout
from analysis.keywork.layout_reading import read_layout
from analysis.keywork.shipped_layouts import shipped_ids, shipped_kinds, shipped_text


def layout_ids() -> tuple[str, ...]:
    """List the ids of all layouts by name."""
    return shipped_ids()


@cache
def load_layout(layout_id: str) -> Layout:
    """Load a layout by its id, with its usual keys; each is read and checked once.

    Raises `UnknownLayout` with the known ids, or `LayoutError` if the file can't be used.

    >>> load_layout("soprano-17-6").name
    'Soprano, 17 keys and 6 rings'
    """
    if layout_id not in layout_ids():
        raise UnknownLayout(layout_id, layout_ids())
    return read_layout(shipped_text(layout_id), source=layout_id)


def layouts_for_kind(kind_id: str) -> tuple[Layout, ...]:
    """List the layouts that serve a kind of clarinet (an id of `analysis.pitch.KINDS`).

    >>> [layout.id for layout in layouts_for_kind("e-flat-contra-alto")]
    ['contra-low-c', 'contra-low-eb']
    """
    serving = (one for one in layout_ids() if kind_id in shipped_kinds(one))
    return tuple(map(load_layout, serving))
