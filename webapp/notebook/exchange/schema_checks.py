"""Checks of JSON against a schema: the part of JSON Schema that the project's own schemas use.

Source of the words: JSON Schema, draft 2020-12, "Validation" (from memory). A schema with another
word is refused, so that nothing is believed to be checked that is not. Patterns are whole ones:
they begin with ^ and end with $.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from typing import Any

Schema = Mapping[str, Any]

_NUMBERS = (int, float)
_KINDS: dict[str, Callable[[object], bool]] = {
    "object": lambda value: isinstance(value, dict),
    "array": lambda value: isinstance(value, list),
    "string": lambda value: isinstance(value, str),
    "boolean": lambda value: isinstance(value, bool),
    "null": lambda value: value is None,
    "integer": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "number": lambda value: isinstance(value, _NUMBERS) and not isinstance(value, bool),
}
_SAYING = {"$schema", "title", "description", "$defs"}
_OF_OBJECTS = {"properties", "required", "additionalProperties", "propertyNames", "maxProperties"}
_CHECKED = {
    "type", "const", "enum", "$ref", "pattern", "minLength", "maxLength", "minimum", "maximum",
    "items", "maxItems", *_OF_OBJECTS,
}  # fmt: skip


def find_fault(value: object, schema: Schema) -> str | None:
    """Return where a value first departs from a schema and how; None where it does not.

    Raises ValueError for a schema with words that are not checked here.

    >>> find_fault({"a": [1, "x"]}, {"properties": {"a": {"items": {"type": "integer"}}}})
    'a/1: “x” is no integer'
    """
    return next(_faults(value, schema, schema, ""), None)


def _faults(value: object, schema: Schema, root: Schema, place: str) -> Iterator[str]:
    unknown = schema.keys() - _SAYING - _CHECKED
    if unknown:
        raise ValueError(f"{sorted(unknown)} in a schema are not checked")
    if "$ref" in schema:
        yield from _faults(value, _resolve(schema["$ref"], root), root, place)
    kinds = schema.get("type", ())
    kinds = (kinds,) if isinstance(kinds, str) else kinds
    if kinds and not any(_KINDS[kind](value) for kind in kinds):
        yield f"{_at(place)}{_show(value)} is no {' or '.join(kinds)}"
        return
    if "const" in schema and value != schema["const"]:
        yield f"{_at(place)}{_show(value)} is not {schema['const']}"
    if "enum" in schema and value not in schema["enum"]:
        yield f"{_at(place)}{_show(value)} is none of {', '.join(schema['enum'])}"
    if isinstance(value, str):
        yield from _faults_of_text(value, schema, place)
    elif isinstance(value, _NUMBERS) and not isinstance(value, bool):
        yield from _faults_of_number(value, schema, place)
    elif isinstance(value, list):
        yield from _faults_of_list(value, schema, root, place)
    elif isinstance(value, dict):
        yield from _faults_of_object(value, schema, root, place)


def _faults_of_text(value: str, schema: Schema, place: str) -> Iterator[str]:
    if len(value) > schema.get("maxLength", len(value)):
        yield f"{_at(place)}{_show(value)} has {len(value)} characters, too many"
    elif len(value) < schema.get("minLength", 0):
        yield f"{_at(place)}is empty"
    elif "pattern" in schema and not _compile(schema["pattern"]).fullmatch(value):
        yield f"{_at(place)}{_show(value)} is not written as it must be"


def _faults_of_number(value: float, schema: Schema, place: str) -> Iterator[str]:
    # what is no number is within no bounds either
    if not schema.get("minimum", value) <= value <= schema.get("maximum", value):
        yield f"{_at(place)}{_show(value)} is out of range"


def _faults_of_list(value: list[object], schema: Schema, root: Schema, place: str) -> Iterator[str]:
    if len(value) > schema.get("maxItems", len(value)):
        yield f"{_at(place)}has {len(value)} items, too many"
        return
    if "items" in schema:
        for number, each in enumerate(value):
            yield from _faults(each, schema["items"], root, f"{place}/{number}")


def _faults_of_object(
    value: dict[str, object], schema: Schema, root: Schema, place: str
) -> Iterator[str]:
    if len(value) > schema.get("maxProperties", len(value)):
        yield f"{_at(place)}has {len(value)} members, too many"
        return
    for name in schema.get("required", ()):
        if name not in value:
            yield f"{_at(place)}{name} is missing"
    known = schema.get("properties", {})
    others = schema.get("additionalProperties", True)
    for name, each in value.items():
        if "propertyNames" in schema:
            yield from _faults(name, schema["propertyNames"], root, place)
        if name in known:
            yield from _faults(each, known[name], root, f"{place}/{name}")
        elif others is False:
            yield f"{_at(place)}{_show(name)} is not known"
        elif others is not True:
            yield from _faults(each, others, root, f"{place}/{name}")


def _resolve(reference: str, root: Schema) -> Schema:
    found: Schema = root["$defs"][reference.removeprefix("#/$defs/")]
    return found


@lru_cache(maxsize=64)
def _compile(pattern: str) -> re.Pattern[str]:
    if not (pattern.startswith("^") and pattern.endswith("$")):
        raise ValueError(f"{pattern} is no whole pattern")
    return re.compile(pattern[1:-1])


def _at(place: str) -> str:
    return f"{place.removeprefix('/')}: " if place else ""


def _show(value: object) -> str:
    text = str(value)
    return f"“{text[:40]}…”" if len(text) > 40 else f"“{text}”"
