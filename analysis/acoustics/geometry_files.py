"""Reading and writing of geometry files.

TOML with lengths in millimetres. Every file says where its figures come from.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from analysis.acoustics.errors import GeometryError
from analysis.acoustics.geometry import BoreStation, Geometry, Reed, ToneHole, check_geometry
from analysis.keywork import load_layout
from analysis.pitch import KINDS


class Table:
    """One table of a geometry file; every read says where it failed."""

    def __init__(self, table: Mapping[str, object], geometry_id: str, place: str) -> None:
        self._table = table
        self._geometry_id = geometry_id
        self._place = place

    def has(self, name: str) -> bool:
        """Tell whether the field is there."""
        return name in self._table

    def text(self, name: str) -> str:
        """Read a text that is not empty."""
        value = self._table.get(name)
        if not isinstance(value, str) or not value:
            raise self._error(name, f"a text was expected, not {value!r}")
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Read a list of texts."""
        value = self._table.get(name)
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise self._error(name, f"a list of texts was expected, not {value!r}")
        return tuple(value)

    def number(self, name: str) -> float:
        """Read a number."""
        return self._as_number(name, self._table.get(name))

    def flag(self, name: str) -> bool:
        """Read true or false."""
        value = self._table.get(name)
        if not isinstance(value, bool):
            raise self._error(name, f"true or false was expected, not {value!r}")
        return value

    def pairs(self, name: str) -> tuple[tuple[float, float], ...]:
        """Read a list of pairs of numbers."""
        value = self._table.get(name)
        if not isinstance(value, list):
            raise self._error(name, f"a list of pairs was expected, not {value!r}")
        read = []
        for pair in value:
            if not isinstance(pair, list) or len(pair) != 2:
                raise self._error(name, f"a pair was expected, not {pair!r}")
            read.append((self._as_number(name, pair[0]), self._as_number(name, pair[1])))
        return tuple(read)

    def tables(self, name: str) -> list[Table]:
        """Read a list of tables, each called after its field 'id'."""
        value = self._table.get(name)
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            raise self._error(name, "a list of tables was expected")
        return [Table(one, self._geometry_id, f"{name}, {one.get('id')!r}") for one in value]

    def _as_number(self, name: str, value: object) -> float:
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            raise self._error(name, f"a number was expected, not {value!r}")
        return float(value)

    def _error(self, name: str, problem: str) -> GeometryError:
        return GeometryError(self._geometry_id, f"{self._place}, field {name!r}", problem)


def parse_table(text: str, geometry_id: str) -> Table:
    """Read the outermost table of a file; raises `GeometryError` if it is no TOML."""
    try:
        return Table(tomllib.loads(text), geometry_id, "file")
    except tomllib.TOMLDecodeError as error:
        raise GeometryError(geometry_id, "file", str(error)) from error


def read_geometry(text: str, geometry_id: str) -> Geometry:
    """Read a geometry and check it against its layout; raises `GeometryError`."""
    table = parse_table(text, geometry_id)
    kind_ids = table.texts("kinds")
    unknown = [kind_id for kind_id in kind_ids if kind_id not in KINDS]
    if unknown or not kind_ids:
        raise GeometryError(geometry_id, "field 'kinds'", f"{unknown!r} is no known kind")
    layout = load_layout(table.text("layout"))
    kind = KINDS[kind_ids[0]]
    geometry = Geometry(
        id=geometry_id,
        kind_ids=kind_ids,
        layout_id=layout.id,
        like_layout_ids=table.texts("like_layouts") if table.has("like_layouts") else (),
        treble_transposition_cents=kind.transposition.cents - kind.treble_shift_cents,
        lowest_cents=float(layout.lowest.cents),
        provenance=table.text("provenance"),
        pad_rim_mm=table.number("pad_rim_mm"),
        hole_rim_mm=table.number("hole_rim_mm"),
        vent_ids=table.texts("vents"),
        bore=tuple(BoreStation(*pair) for pair in table.pairs("bore_mm")),
        holes=tuple(read_hole(hole) for hole in table.tables("holes")),
        reed=_read_reed(table),
    )
    check_geometry(geometry, [hole.id for hole in layout.holes])
    return geometry


def _read_reed(table: Table) -> Reed | None:
    if not table.has("reed_mm"):
        return None
    return Reed(table.number("reed_mm"), table.number("reed_hz"))


def read_hole(table: Table) -> ToneHole:
    """Read one hole."""
    return ToneHole(
        id=table.text("id"),
        x_mm=table.number("x_mm"),
        radius_mm=table.number("radius_mm"),
        chimney_mm=table.number("chimney_mm"),
        pad_height_mm=table.number("pad_height_mm") if table.has("pad_height_mm") else None,
        iris_radius_mm=table.number("iris_radius_mm") if table.has("iris_radius_mm") else None,
        iris_thickness_mm=(
            table.number("iris_thickness_mm") if table.has("iris_thickness_mm") else 0.0
        ),
    )


def write_geometry(geometry: Geometry, remark: str) -> str:
    """Write a geometry as text that `read_geometry` reads, to a thousandth of a millimetre."""
    lines = [f"# {line}" for line in remark.splitlines()]
    lines += [
        "",
        f"kinds = [{', '.join(map(_quote, geometry.kind_ids))}]",
        f"layout = {_quote(geometry.layout_id)}",
        *_write_like(geometry.like_layout_ids),
        f"provenance = {_quote(geometry.provenance)}",
        f"pad_rim_mm = {geometry.pad_rim_mm:g}",
        f"hole_rim_mm = {geometry.hole_rim_mm:g}",
        *_write_reed(geometry.reed),
        f"vents = [{', '.join(map(_quote, geometry.vent_ids))}]",
        "bore_mm = [",
        *(f"    [{s.x_mm:.3f}, {s.radius_mm:.3f}]," for s in geometry.bore),
        "]",
    ]
    for hole in geometry.holes:
        lines += ["", *_write_hole(hole)]
    return "\n".join(lines) + "\n"


def _write_like(layout_ids: tuple[str, ...]) -> list[str]:
    return [f"like_layouts = [{', '.join(map(_quote, layout_ids))}]"] if layout_ids else []


def _write_reed(reed: Reed | None) -> list[str]:
    if reed is None:
        return []
    return [f"reed_mm = {reed.length_mm:.3f}", f"reed_hz = {reed.resonance_hz:.1f}"]


def _write_hole(hole: ToneHole) -> list[str]:
    optional = {
        "pad_height_mm": hole.pad_height_mm,
        "iris_radius_mm": hole.iris_radius_mm,
        "iris_thickness_mm": hole.iris_thickness_mm or None,
    }
    return [
        "[[holes]]",
        f"id = {_quote(hole.id)}",
        f"x_mm = {hole.x_mm:.3f}",
        f"radius_mm = {hole.radius_mm:.3f}",
        f"chimney_mm = {hole.chimney_mm:.3f}",
        *(f"{name} = {value:.3f}" for name, value in optional.items() if value is not None),
    ]


def _quote(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
