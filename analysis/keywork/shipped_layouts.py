"""Files of the layouts that ship with the program, as text."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

_SUFFIX = ".toml"


@cache
def shipped_ids() -> tuple[str, ...]:
    """List the ids of the shipped layouts by name."""
    names = (file.name for file in files("analysis.keywork").joinpath("layouts").iterdir())
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX)))


@cache
def shipped_text(layout_id: str) -> str:
    """Read the file of a shipped layout; the id must be one of `shipped_ids`."""
    folder = files("analysis.keywork").joinpath("layouts")
    return folder.joinpath(layout_id + _SUFFIX).read_text(encoding="utf-8")


@cache
def shipped_kinds(layout_id: str) -> frozenset[str]:
    """Read which kinds of clarinet a shipped layout serves, without reading the rest of it."""
    line = next(
        line for line in shipped_text(layout_id).splitlines() if line.startswith("kinds = ")
    )
    return frozenset(tomllib.loads(line)["kinds"])
