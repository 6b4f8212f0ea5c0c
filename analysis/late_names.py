"""Late names of a package: each is imported with its first use, not with the package.

A package that gathers the names of its modules writes their imports below `if TYPE_CHECKING`, where
type checkers read them, and so does `late_names`. Whoever needs one name loads its module alone: a
server answers before everything that a later page computes with is there. Source: PEP 562.
"""

import ast
import sys
from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from pathlib import Path


def late_names(package: str, file: str) -> Callable[[str], object]:
    """Return the `__getattr__` of a package; `file` is that of its `__init__`."""

    def find(name: str) -> object:
        module = _read_homes(package, file).get(name)
        if module is None:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        found: object = getattr(import_module(module), name)
        setattr(sys.modules[package], name, found)  # the next use comes here no more
        return found

    return find


@cache
def _read_homes(package: str, file: str) -> Mapping[str, str]:
    """Return the module of each name that the package imports from within itself."""
    return {
        alias.name: node.module
        for node in ast.walk(ast.parse(Path(file).read_bytes()))
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(f"{package}.")
        for alias in node.names
        if node.module
    }
