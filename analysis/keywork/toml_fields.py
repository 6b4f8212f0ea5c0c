"""Typed reading of the fields of a TOML table; an error names the key and the field."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from enum import StrEnum
from reprlib import Repr
from typing import TypeVar

from analysis.keywork.errors import LayoutError

# Limits of what a layout may hold, far above any clarinet: a player's file may come from anywhere.
MAX_TEXT = 600
MAX_ENTRIES = 400
MAX_NUMBER = 10_000
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
MAX_ID = 60

Choice = TypeVar("Choice", bound=StrEnum)

_SHORTENED = Repr()
_SHORTENED.maxstring = MAX_ID + 10


def shown(value: object) -> str:
    """Write a value from a file as an error shows it: in quotes, and never long."""
    try:
        return _SHORTENED.repr(value)
    except ValueError:  # Python writes no whole number of more than 4300 digits.
        return "a very long number"


class Fields:
    """One table of a layout file; every read says where it failed, and `finish` finds typing slips.

    `place` is how an error names this table, such as "key 'left-cross'".
    """

    def __init__(self, table: Mapping[str, object], *, layout_id: str, place: str) -> None:
        self._table = table
        self._read: set[str] = set()
        self.layout_id = layout_id
        self.place = place

    def error(self, name: str, problem: str) -> LayoutError:
        """Make the error that names this table and one of its fields."""
        return LayoutError(self.layout_id, f"{self.place}, field {name!r}", problem)

    def has(self, name: str) -> bool:
        """Tell whether the field is there."""
        return name in self._table

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all fields, in the order of the file."""
        return tuple(self._table)

    def text(self, name: str, default: str | None = None) -> str:
        """Read a text; without a default the field must be there and not be empty."""
        value = self._value(name, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.error(name, f"a text was expected, not {shown(value)}")
        return self._short(name, value)

    def identifier(self, name: str) -> str:
        """Read an id: small letters, digits and single hyphens."""
        value = self.text(name)
        if len(value) > MAX_ID or not _ID.fullmatch(value):
            raise self.error(
                name,
                f"{shown(value)} is no id; use up to {MAX_ID} small letters, digits and hyphens",
            )
        return value

    def whole(self, name: str) -> int:
        """Read a whole number of at least 1."""
        value = self._value(name, None)
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MAX_NUMBER:
            raise self.error(
                name, f"a whole number from 1 up to {MAX_NUMBER} was expected, not {shown(value)}"
            )
        return value

    def number(self, name: str, default: float | None = None) -> float:
        """Read a number."""
        return self._as_number(name, self._value(name, default))

    def flag(self, name: str, *, default: bool = False) -> bool:
        """Read true or false."""
        value = self._value(name, default)
        if not isinstance(value, bool):
            raise self.error(name, f"true or false was expected, not {shown(value)}")
        return value

    def choice(self, name: str, kind: type[Choice]) -> Choice:
        """Read one of the values of an enumeration."""
        return self._as_choice(name, self._value(name, None), kind)

    def choices(self, name: str, kind: type[Choice]) -> tuple[Choice, ...]:
        """Read a list of values of an enumeration."""
        return tuple(self._as_choice(name, value, kind) for value in self._list(name, None))

    def texts(self, name: str, default: list[object] | None = None) -> tuple[str, ...]:
        """Read a list of texts."""
        values = self._list(name, default)
        if not all(isinstance(value, str) and value for value in values):
            raise self.error(name, f"a list of texts was expected, not {shown(values)}")
        return tuple(self._short(name, str(value)) for value in values)

    def numbers(self, name: str, count: int) -> tuple[float, ...]:
        """Read a list of exactly `count` numbers."""
        values = self._list(name, None)
        if len(values) != count:
            raise self.error(name, f"{count} numbers were expected, not {len(values)}")
        return tuple(self._as_number(name, value) for value in values)

    def lists(self, name: str) -> tuple[object, ...]:
        """Read a list of anything; an absent field is an empty list."""
        return tuple(self._list(name, []))

    def table(self, name: str) -> Fields:
        """Read one inner table."""
        value = self._value(name, None)
        if not isinstance(value, dict):
            raise self.error(name, f"a table was expected, not {shown(value)}")
        return Fields(value, layout_id=self.layout_id, place=f"{self.place}, {name}")

    def tables(self, name: str, *, called: str, by: str) -> Iterator[Fields]:
        """Read a list of tables, each called after its field `by`; an absent list is empty."""
        for number, value in enumerate(self._list(name, []), start=1):
            if not isinstance(value, dict):
                raise self.error(name, f"entry {number} must be a table, not {shown(value)}")
            title = shown(value[by]) if by in value else f"number {number}"
            yield Fields(value, layout_id=self.layout_id, place=f"{called} {title}")

    def finish(self) -> None:
        """Refuse fields that nobody read: most often a slip in a field's name."""
        unknown = sorted(set(self._table) - self._read)
        if unknown:
            raise self.error(unknown[0], "this field is not known; correct or remove it")

    def _value(self, name: str, default: object) -> object:
        self._read.add(name)
        value = self._table.get(name, default)
        if value is None:
            raise self.error(name, "this field is missing; add it")
        return value

    def _list(self, name: str, default: list[object] | None) -> list[object]:
        value = self._value(name, default)
        if not isinstance(value, list):
            raise self.error(name, f"a list was expected, not {shown(value)}")
        if len(value) > MAX_ENTRIES:
            raise self.error(name, f"{len(value)} entries are too many; {MAX_ENTRIES} are allowed")
        return value

    def _short(self, name: str, value: str) -> str:
        if len(value) > MAX_TEXT:
            raise self.error(name, f"{len(value)} characters are too many; use up to {MAX_TEXT}")
        if not value.isprintable():
            raise self.error(name, "it has a character that can't be printed; remove it")
        return value

    def _as_number(self, name: str, value: object) -> float:
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            raise self.error(name, f"a number was expected, not {shown(value)}")
        if not abs(value) <= MAX_NUMBER:  # false for NaN too
            raise self.error(
                name,
                f"a number from -{MAX_NUMBER} to {MAX_NUMBER} was expected, not {shown(value)}",
            )
        return float(value)

    def _as_choice(self, name: str, value: object, kind: type[Choice]) -> Choice:
        allowed = [member.value for member in kind]
        if value not in allowed:
            raise self.error(name, f"{shown(value)} is none of {', '.join(allowed)}")
        return kind(value)
