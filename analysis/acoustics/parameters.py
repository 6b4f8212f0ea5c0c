"""Parameters of a tube with their prior spreads, and a tube with some of them changed.

What can be read off an instrument only roughly is a parameter: place, radius, chimney and pad
height of each hole, the bore as a whole, its upper end (mouthpiece, reed and barrel, which the
model leaves out) and the place of the bell. The spreads are from memory: what makers and a
ruler would disagree by.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from analysis.acoustics.geometry import BoreStation, Geometry, ToneHole
from analysis.acoustics.transfer_matrices import Real

# The first stations of every bore are mouthpiece and barrel; the next but one ends the cylinder.
_TOP_STATIONS = 2
_BODY_STATIONS = 3


class Measure(StrEnum):
    """What is measured; places in mm, all others as natural logarithms."""

    PLACE = "place"
    RADIUS = "radius"
    CHIMNEY = "chimney"
    PAD = "pad height"
    TOP_RADIUS = "radius of the upper end"
    BORE_RADIUS = "radius of the bore"
    BELL_PLACE = "place of the bell"


@dataclass(frozen=True, slots=True)
class Parameter:
    """One measure with its spread, in the unit of the measure; `hole_id` None for the bore."""

    measure: Measure
    hole_id: str | None
    spread: float


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of what is remembered of a tube.

    `place_share` is a share of the tube's length, all others are natural logarithms. A register
    vent is small, so its radius is known worse.
    """

    place_share: float = 0.01
    radius: float = 0.06
    vent_radius: float = 0.25
    chimney: float = 0.10
    pad: float = 0.25
    top_radius: float = 0.02
    bore_radius: float = 0.01
    bell_share: float = 0.01


DEFAULT_SPREADS = Spreads()


def list_parameters(
    geometry: Geometry, spreads: Spreads = DEFAULT_SPREADS
) -> tuple[Parameter, ...]:
    """List the parameters of a tube: hole by hole in layout order, then the bore."""
    holes = [
        parameter for hole in geometry.holes for parameter in _list_hole(hole, geometry, spreads)
    ]
    bell_mm = spreads.bell_share * geometry.length_mm
    return (
        *holes,
        Parameter(Measure.TOP_RADIUS, None, spreads.top_radius),
        Parameter(Measure.BORE_RADIUS, None, spreads.bore_radius),
        Parameter(Measure.BELL_PLACE, None, bell_mm),
    )


def _list_hole(hole: ToneHole, geometry: Geometry, spreads: Spreads) -> list[Parameter]:
    is_vent = hole.id in geometry.vent_ids
    place_mm = spreads.place_share * geometry.length_mm
    listed = [
        Parameter(Measure.PLACE, hole.id, place_mm),
        Parameter(Measure.RADIUS, hole.id, spreads.vent_radius if is_vent else spreads.radius),
        Parameter(Measure.CHIMNEY, hole.id, spreads.chimney),
    ]
    if hole.pad_height_mm is not None:
        listed.append(Parameter(Measure.PAD, hole.id, spreads.pad))
    return listed


def change_geometry(
    geometry: Geometry, parameters: Sequence[Parameter], changes: Sequence[float] | Real
) -> Geometry:
    """Make the geometry that differs by some changes, each in its parameter's unit.

    `changes` of shape (parameters,): mm for places, natural logarithms of the ratio for the rest.
    """
    by_hole: dict[str, dict[Measure, float]] = {}
    bore = geometry.bore
    for parameter, change in zip(parameters, changes, strict=True):
        if parameter.hole_id is None:
            bore = _change_bore(bore, parameter.measure, float(change))
        else:
            by_hole.setdefault(parameter.hole_id, {})[parameter.measure] = float(change)
    holes = tuple(
        _change_hole(hole, by_hole[hole.id]) if hole.id in by_hole else hole
        for hole in geometry.holes
    )
    return replace(geometry, bore=bore, holes=holes)


def _change_hole(hole: ToneHole, changes: dict[Measure, float]) -> ToneHole:
    pad_mm = hole.pad_height_mm
    if pad_mm is not None:
        pad_mm *= math.exp(changes.get(Measure.PAD, 0.0))
    return replace(
        hole,
        x_mm=hole.x_mm + changes.get(Measure.PLACE, 0.0),
        radius_mm=hole.radius_mm * math.exp(changes.get(Measure.RADIUS, 0.0)),
        chimney_mm=hole.chimney_mm * math.exp(changes.get(Measure.CHIMNEY, 0.0)),
        pad_height_mm=pad_mm,
    )


def _change_bore(
    bore: tuple[BoreStation, ...], measure: Measure, change: float
) -> tuple[BoreStation, ...]:
    if measure is Measure.BELL_PLACE:
        bell = [replace(s, x_mm=s.x_mm + change) for s in bore[_BODY_STATIONS:]]
        return (*bore[:_BODY_STATIONS], *bell)
    count = _TOP_STATIONS if measure is Measure.TOP_RADIUS else len(bore)
    factor = math.exp(change)
    changed = [replace(s, radius_mm=s.radius_mm * factor) for s in bore[:count]]
    return (*changed, *bore[count:])
