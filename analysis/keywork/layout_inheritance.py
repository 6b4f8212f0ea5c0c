"""Inheritance of layout files: one that says only how it differs from a shipped one.

Its first field is `extends`, such as `extends = "soprano-17-6"`.

What such a file must say itself: `id`, `version`, `name`, `provenance`, `kinds`. What it may say:

- `lowest`, `view_box`, `text`, `guides`, `captions`: in place of those of the extended layout;
- `together`: further pairs;
- `[[keys]]`, `[[holes]]`: one with an id that is there already overrides the fields it names, one
  with a new id is added; `after` or `before` names the one next to which it is put (else it stays
  where it was, or goes last);
- holes may have `also_closed_by` and `also_opened_by`: further movers;
- `[[fingerings]]`: the lines of a note replace all lines of that note;
- `[remove]` with `keys`, `holes`, `together` (pairs) and `fingerings` (notes). A removed key goes
  out of every pair and moves no pad any more; rolling a finger beside it is not ordinary any more.

Everything here works on the tables of TOML, before any field is read: the merged table is then
checked exactly as if it had been written in full.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from analysis.keywork.errors import LayoutError
from analysis.keywork.shipped_layouts import shipped_ids, shipped_text
from analysis.keywork.toml_fields import Fields, shown

# What TOML holds: any nesting of tables, lists and values.
Table = dict[str, Any]

_MAX_DEPTH = 4
_OWN = frozenset({"id", "version", "name", "provenance", "kinds"})
_LISTS = frozenset({"keys", "holes", "together", "fingerings"})
# Of these a key has one or the other.
_RIVALS = {"label": "label_note", "label_note": "label"}


def merge_extended(table: Mapping[str, Any], layout_id: str, *, depth: int = 0) -> Table:
    """Write a table out in full.

    `table` is a layout file as TOML gives it. Returns it unchanged if it extends nothing. Raises
    `LayoutError` if it extends what is not there or changes what can't be changed.
    """
    if "extends" not in table:
        return dict(table)
    child = {name: value for name, value in table.items() if name not in {"extends", "remove"}}
    base = _base(table["extends"], layout_id, depth)
    merger = _Merger(layout_id, Fields(table, layout_id=layout_id, place="the layout"))
    merged = {name: value for name, value in base.items() if name not in _OWN}
    merged.update({name: value for name, value in child.items() if name not in _LISTS})
    merged.update(merger.lists(base, child, table.get("remove", {})))
    return merged


def _base(base_id: object, layout_id: str, depth: int) -> Table:
    if not isinstance(base_id, str) or base_id not in shipped_ids():
        known = ", ".join(shipped_ids())
        raise LayoutError(layout_id, "field 'extends'", f"name one of {known}")
    if depth >= _MAX_DEPTH:
        raise LayoutError(layout_id, "field 'extends'", "it extends itself, or too many in a row")
    return merge_extended(tomllib.loads(shipped_text(base_id)), base_id, depth=depth + 1)


class _Merger:
    """Merges the lists of one file into those of the file that it extends."""

    def __init__(self, layout_id: str, fields: Fields) -> None:
        self._layout_id = layout_id
        self._fields = fields

    def lists(self, base: Table, child: Table, remove: object) -> Table:
        """Merge the four lists."""
        removed = self._removals(remove)
        keys = self._merge(base, child, "keys", removed, join=_join_key)
        holes = self._merge(base, child, "holes", removed, join=_join_hole)
        gone = frozenset(removed["keys"])
        pairs = [pair for pair in base["together"] if not gone & set(pair)]
        notes = {line.get("note") for line in self._tables(child, "fingerings")}
        notes |= set(removed["fingerings"])
        kept = [line for line in base["fingerings"] if line["note"] not in notes]
        unwanted = [sorted(pair) for pair in removed["together"]]
        return {
            "keys": [_without_rolling(key, gone) for key in keys],
            "holes": [_without_movers(hole, gone) for hole in holes],
            "together": [pair for pair in pairs if sorted(pair) not in unwanted]
            + self._list(child, "together"),
            "fingerings": kept + self._tables(child, "fingerings"),
        }

    def _removals(self, remove: object) -> dict[str, tuple[Any, ...]]:
        if not isinstance(remove, dict):
            raise self._fields.error("remove", "a table was expected")
        fields = Fields(remove, layout_id=self._layout_id, place="remove")
        removed: dict[str, tuple[Any, ...]] = {
            name: fields.texts(name, []) for name in ("keys", "holes", "fingerings")
        }
        removed["together"] = tuple(
            tuple(map(str, pair)) for pair in fields.lists("together") if isinstance(pair, list)
        )
        fields.finish()
        return removed

    def _list(self, child: Table, name: str) -> list[Any]:
        value = child.get(name, [])
        if not isinstance(value, list):
            raise self._fields.error(name, "a list was expected")
        return value

    def _tables(self, child: Table, name: str) -> list[Table]:
        entries = self._list(child, name)
        if not all(isinstance(entry, dict) for entry in entries):
            raise self._fields.error(name, "every entry must be a table")
        return entries

    def _merge(
        self,
        base: Table,
        child: Table,
        name: str,
        removed: Mapping[str, tuple[Any, ...]],
        *,
        join: Callable[[Table, Table], Table],
    ) -> list[Table]:
        merged = list(base[name])
        for entry_id in removed[name]:
            place = self._find(merged, entry_id, f"remove, field {name!r}")
            del merged[place]
        for entry in self._tables(child, name):
            self._put(merged, dict(entry), name.removesuffix("s"), join)
        return merged

    def _put(
        self, merged: list[Table], entry: Table, called: str, join: Callable[[Table, Table], Table]
    ) -> None:
        entry_id = entry.get("id")
        title = f"{called} {shown(entry_id)}"
        where = {name: entry.pop(name) for name in ("after", "before") if name in entry}
        same = (place for place, one in enumerate(merged) if one.get("id") == entry_id)
        at = None if entry_id is None else next(same, None)
        if at is None:
            at = len(merged)
        else:
            entry = join(merged.pop(at), entry)
        for name, neighbour in where.items():
            at = self._find(merged, neighbour, f"{title}, field {name!r}") + (name == "after")
        merged.insert(at, entry)

    def _find(self, entries: Iterable[Table], entry_id: object, place: str) -> int:
        for number, entry in enumerate(entries):
            if entry.get("id") == entry_id:
                return number
        raise LayoutError(self._layout_id, place, f"there is no {shown(entry_id)} to go by")


def _join_key(old: Table, new: Table) -> Table:
    rivals = {_RIVALS[name] for name in new if name in _RIVALS}
    return {**{name: value for name, value in old.items() if name not in rivals}, **new}


def _join_hole(old: Table, new: Table) -> Table:
    joined = {**old, **new}
    for name in ("closed_by", "opened_by"):
        # A fault is left standing, to be found and named when the field is read.
        if isinstance(joined.get(f"also_{name}"), list):
            joined[name] = [*joined.get(name, []), *joined.pop(f"also_{name}")]
    return joined


def _without_rolling(key: Table, gone: frozenset[str]) -> Table:
    kept = dict(key)
    if isinstance(key.get("rolled"), list):
        kept["rolled"] = [one for one in key["rolled"] if not gone & _named_in(one)]
    return kept


def _named_in(condition: object) -> set[str]:
    """The keys that a condition names; a faulty one is left to be found when it is read."""
    lists = condition.values() if isinstance(condition, dict) else ()
    return {str(other) for names in lists if isinstance(names, list) for other in names}


def _without_movers(hole: Table, gone: frozenset[str]) -> Table:
    kept = dict(hole)
    for name in ("closed_by", "opened_by"):
        if isinstance(hole.get(name), list):
            kept[name] = [mover for mover in hole[name] if _mover_key(mover) not in gone]
    return kept


def _mover_key(mover: object) -> str:
    key = mover.get("key") if isinstance(mover, dict) else mover
    return str(key)
