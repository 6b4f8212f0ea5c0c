"""Docstrings and names: what can be read without running anything."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCES = sorted(
    path for package in ("analysis", "webapp") for path in (ROOT / package).rglob("*.py")
)
Callable = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def trees() -> dict[Path, ast.Module]:
    """Every module by its path; parsed when a test asks, not by every process that collects."""
    return {path.relative_to(ROOT): ast.parse(path.read_text("utf-8")) for path in SOURCES}


@pytest.mark.parametrize("opening", ["What", "How"])
def test_a_module_docstring_says_what_the_module_does(opening: str) -> None:
    """It begins with what it is, in the field's own words, and not with a question."""
    asking = [
        str(path)
        for path, tree in trees().items()
        if re.match(rf"{opening}\b", ast.get_docstring(tree) or "")
    ]
    assert asking == []


def test_no_two_public_classes_share_a_name() -> None:
    places = defaultdict(list)
    for path, tree in trees().items():
        for node in tree.body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(str(path))
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def names_in(node: ast.AST | None) -> set[str]:
    """Every name that an annotation mentions."""
    return {one.id for one in ast.walk(node) if isinstance(one, ast.Name)} if node else set()


@cache
def arrays() -> set[str]:
    """Arrays, under whatever name a module gives their type."""
    return {"NDArray"} | {
        target.id
        for path, tree in trees().items()
        if path.parts[0] == "analysis"
        for node in tree.body
        if isinstance(node, ast.Assign) and "NDArray" in names_in(node.value)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def public_callables(path: Path) -> Iterator[tuple[Callable, str]]:
    """Public functions and methods of a module, each with all docstrings that speak of it."""
    for node in trees()[path].body:
        if isinstance(node, Callable) and not node.name.startswith("_"):
            yield node, ast.get_docstring(node) or ""
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            of_class = ast.get_docstring(node) or ""
            for inner in node.body:
                if isinstance(inner, Callable) and not inner.name.startswith("_"):
                    yield inner, f"{of_class}\n{ast.get_docstring(inner) or ''}"


def takes_an_array(function: Callable) -> bool:
    """Whether a parameter's type mentions an array."""
    parameters = (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
    return any(names_in(each.annotation) & arrays() for each in parameters)


def test_public_functions_say_the_shape_of_the_arrays_they_take() -> None:
    taking, silent = [], []
    for path in trees():
        if path.parts[0] != "analysis":
            continue
        for function, words in public_callables(path):
            if takes_an_array(function):
                taking.append(function.name)
                if not re.search(r"\bshapes?\b", words, re.IGNORECASE):
                    silent.append(f"{path}: {function.name}")
    assert {"measure_take", "find_resonances"} <= set(taking)
    assert silent == []
