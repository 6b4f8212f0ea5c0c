"""The measures of one clarinet's tube.

Conventions: millimetres; x runs along the centre line from the pressure antinode near the tip of
the mouthpiece (Nederveen, Acustica 14, 1964: mouthpiece and reed act like a plain tube from
there), bends count as straight. Between two bore stations the bore is a cone. Holes keep the order
of the layout, which need not be that of x.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable
from dataclasses import dataclass

from analysis.acoustics.errors import GeometryError


@dataclass(frozen=True, slots=True)
class BoreStation:
    """The radius of the bore at one place."""

    x_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class ToneHole:
    """One hole; `id` is that of the layout's hole.

    `pad_height_mm` is how high its pad stands when open; None for a hole that a finger covers.
    `iris_radius_mm` and `iris_thickness_mm` describe the opening that is left when the hole is
    shaded: a perforated plate, or what a finger leaves free.
    """

    id: str
    x_mm: float
    radius_mm: float
    chimney_mm: float
    pad_height_mm: float | None = None
    iris_radius_mm: float | None = None
    iris_thickness_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Reed:
    """How the reed gives way: like `length_mm` of bore, the more the nearer its own resonance.

    Held still, it counts in the length of the tube already: x = 0 stands for that.
    """

    length_mm: float
    resonance_hz: float


# A finger that shades a hole leaves about a tenth of its area open: from memory, and steep (half
# of that is some 25 cents), so a shaded hole's prediction has wide error bars.
SHADED_AREA_SHARE = 0.1


@dataclass(frozen=True)
class Geometry:
    """The tube of some kinds of clarinet with one keywork.

    `like_layout_ids` are further layouts with the same holes, which only work the keys differently.

    `treble_transposition_cents` leads from written pitch in treble notation to sounding pitch.
    `lowest_cents` is the lowest written note in treble notation (C4 = 6000). `vent_ids` are the
    holes of the register key.
    """

    id: str
    kind_ids: tuple[str, ...]
    layout_id: str
    like_layout_ids: tuple[str, ...]
    treble_transposition_cents: int
    lowest_cents: float
    provenance: str
    pad_rim_mm: float
    hole_rim_mm: float
    vent_ids: tuple[str, ...]
    bore: tuple[BoreStation, ...]
    holes: tuple[ToneHole, ...]
    reed: Reed | None = None

    @property
    def length_mm(self) -> float:
        """From the pressure antinode to the lower end of the bell."""
        return self.bore[-1].x_mm

    @property
    def hole_ids(self) -> tuple[str, ...]:
        """The holes in the order of the layout."""
        return tuple(hole.id for hole in self.holes)

    @property
    def fingerprint(self) -> str:
        """A digest of all figures that a prediction depends on."""
        figures = (
            self.treble_transposition_cents,
            self.pad_rim_mm,
            self.hole_rim_mm,
            self.bore,
            self.holes,
            self.reed,
        )
        return hashlib.sha256(repr(figures).encode()).hexdigest()


def check_geometry(geometry: Geometry, hole_ids: Iterable[str]) -> None:
    """Check a geometry against the holes of its layout; raises `GeometryError`."""
    wanted = tuple(hole_ids)
    if geometry.hole_ids != wanted:
        found = ", ".join(geometry.hole_ids)
        raise GeometryError(geometry.id, "holes", f"{found} were found, not {', '.join(wanted)}")
    _check_bore(geometry)
    _check_reed(geometry)
    for hole in geometry.holes:
        _check_hole(geometry, hole)


def _check_bore(geometry: Geometry) -> None:
    places = [station.x_mm for station in geometry.bore]
    if len(places) < 2 or places[0] != 0.0 or places != sorted(set(places)):
        raise GeometryError(geometry.id, "bore", "stations must rise from x = 0")
    for station in geometry.bore:
        if not (math.isfinite(station.x_mm) and 1.0 <= station.radius_mm <= 200.0):
            raise GeometryError(
                geometry.id, "bore", f"a radius of 1 to 200 mm was expected, not {station}"
            )


def _check_reed(geometry: Geometry) -> None:
    reed = geometry.reed
    if reed is not None and not (0.0 < reed.length_mm <= 100.0 and reed.resonance_hz >= 100.0):
        raise GeometryError(geometry.id, "reed", f"{reed} is no reed's")


def _check_hole(geometry: Geometry, hole: ToneHole) -> None:
    place = f"hole {hole.id!r}"
    if not 0.0 < hole.x_mm < geometry.length_mm:
        raise GeometryError(geometry.id, place, f"x = {hole.x_mm:g} mm is not on the tube")
    if not 0.3 <= hole.radius_mm <= 20.0:
        raise GeometryError(geometry.id, place, f"a radius of {hole.radius_mm:g} mm is no hole's")
    if not 1.0 <= hole.chimney_mm <= 40.0:
        raise GeometryError(geometry.id, place, f"a chimney of {hole.chimney_mm:g} mm is too far")
    if hole.pad_height_mm is not None and not 0.2 <= hole.pad_height_mm <= 20.0:
        raise GeometryError(geometry.id, place, f"a pad can't stand {hole.pad_height_mm:g} mm high")
    if hole.iris_radius_mm is not None and not 0.0 < hole.iris_radius_mm < hole.radius_mm:
        raise GeometryError(geometry.id, place, "the shaded opening must be smaller than the hole")
