"""Maximum a posteriori calibration of a remembered tube by its ordinary fingerings.

What is remembered (`initial_geometries/`) is a prior: each measure has a spread. The ordinary
fingerings say where the tube should sound, to within a few cents that the model can't do better
than. The most probable tube is found by Gauss-Newton steps (Nocedal & Wright, Numerical
Optimization, 2006, chapter 10) with the derivatives of `sensitivities`. The altissimo is left out:
it is a test.

Run ``python -m analysis.acoustics.calibration`` to make all files in `geometries/` anew, or name
some of them after it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from analysis.acoustics.air import CALIBRATION_TEMPERATURE_C, find_air
from analysis.acoustics.calibration_notes import (
    OrdinaryNote,
    find_errors,
    find_notes,
    find_rms,
    find_targets,
    list_notes,
    split_altissimo,
    stack_states,
)
from analysis.acoustics.geometry import BoreStation, Geometry, Reed, ToneHole, check_geometry
from analysis.acoustics.geometry_files import (
    Table,
    parse_table,
    read_geometry,
    read_hole,
    write_geometry,
)
from analysis.acoustics.parameters import (
    DEFAULT_SPREADS,
    Measure,
    Parameter,
    Spreads,
    change_geometry,
    list_parameters,
)
from analysis.acoustics.resonances import follow_resonances
from analysis.acoustics.sensitivities import find_sensitivities
from analysis.acoustics.transfer_matrices import Real
from analysis.acoustics.tube_model import TubeModel
from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import KINDS

# What a good instrument and this model may differ by on an ordinary note: from memory.
NOTE_SPREAD_CENTS = 3.0
_MAX_STEPS = 12
# Steps end when no parameter moves by more than this share of its spread.
_SETTLED = 1e-3
# How far a note may move from one step to the next when it is followed and not looked for.
_FOLLOW_CENTS = 80.0

_FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class CalibratedTube:
    """A calibrated tube.

    Attributes:
        start: the tube as remembered.
        geometry: the calibrated tube.
        notes: the ordinary fingerings it was calibrated by.
        parameters: what was changed.
        changes: by how much, each in its parameter's unit.
        sensitivities: shape (notes, parameters), at the calibrated tube.
    """

    start: Geometry
    geometry: Geometry
    notes: tuple[OrdinaryNote, ...]
    parameters: tuple[Parameter, ...]
    changes: Real
    sensitivities: Real


def calibrate(
    start: Geometry, notes: Sequence[OrdinaryNote], *, spreads: Spreads = DEFAULT_SPREADS
) -> CalibratedTube:
    """Find the most probable tube for notes that are in tune.

    Args:
        start: the tube as remembered; centre of the prior.
        notes: ordinary fingerings, see `calibration_notes.list_notes`.
        spreads: how well the tube is remembered.
    """
    parameters = list_parameters(start, spreads)
    changes = np.zeros(len(parameters))
    states, targets = stack_states(notes), find_targets(notes, start)
    for _ in range(_MAX_STEPS):
        model = _model(start, parameters, changes)
        cents = find_notes(model, notes)
        slopes = find_sensitivities(model, states, cents, parameters)
        solver = _find_solver(slopes, parameters)
        step = solver @ _weigh(cents - targets, changes, parameters)
        changes = changes - step
        if np.max(np.abs(step) / _spreads(parameters)) < _SETTLED:
            break
    geometry = change_geometry(start, parameters, changes)
    return CalibratedTube(start, geometry, tuple(notes), parameters, changes, slopes)


def cross_validate(calibration: CalibratedTube, *, steps: int = 2) -> Real:
    """Cross-validate: find the error of each note when the tube is calibrated by all others.

    Each note in turn is taken out and the tube is calibrated again from where it was, with the
    sensitivities it had: two steps settle to about a tenth of a cent.

    Args:
        calibration: of all notes together.
        steps: Newton steps for each note.

    Returns:
        Shape (notes,), cents.
    """
    count = len(calibration.notes)
    return np.array([_leave_out(calibration, place, steps) for place in range(count)])


def _leave_out(calibration: CalibratedTube, place: int, steps: int) -> float:
    notes, parameters = calibration.notes, calibration.parameters
    states, targets = stack_states(notes), find_targets(notes, calibration.start)
    kept = np.arange(len(notes)) != place
    solver = _find_solver(calibration.sensitivities[kept], parameters)
    changes = calibration.changes
    cents = targets
    for _ in range(steps + 1):
        model = _model(calibration.start, parameters, changes)
        cents = follow_resonances(model, states, cents, reach_cents=_FOLLOW_CENTS)
        errors = cents - targets
        changes = changes - solver @ _weigh(errors[kept], changes, parameters)
    return float(errors[place])


def find_covariance(geometry: Geometry, parameters: tuple[Parameter, ...]) -> Real:
    """Find how uncertain the measures of a calibrated tube still are, and how they hang together.

    The covariance of the linearised posterior: prior spreads, narrowed by the ordinary notes.

    Args:
        geometry: a calibrated tube.
        parameters: from `list_parameters`.

    Returns:
        Shape (parameters, parameters), in the units of the parameters. With the sensitivities S
        of some fingerings, S C S' is the covariance of their predictions in cents^2.
    """
    notes, _ = split_altissimo(list_notes(load_layout(geometry.layout_id)))
    model = TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))
    slopes = find_sensitivities(model, stack_states(notes), find_notes(model, notes), parameters)
    spreads = _spreads(parameters)
    scaled = slopes * spreads / NOTE_SPREAD_CENTS
    inverse = np.linalg.inv(np.eye(len(parameters)) + scaled.T @ scaled)
    return np.asarray(spreads[:, np.newaxis] * inverse * spreads)


def _model(start: Geometry, parameters: Sequence[Parameter], changes: Real) -> TubeModel:
    geometry = change_geometry(start, parameters, changes)
    return TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))


def _spreads(parameters: Sequence[Parameter]) -> Real:
    return np.array([parameter.spread for parameter in parameters])


def _find_solver(slopes: Real, parameters: Sequence[Parameter]) -> Real:
    """Find the matrix that turns weighed errors into a least-squares step."""
    rows = np.vstack([slopes / NOTE_SPREAD_CENTS, np.diag(1.0 / _spreads(parameters))])
    return np.asarray(np.linalg.pinv(rows))


def _weigh(errors: Real, changes: Real, parameters: Sequence[Parameter]) -> Real:
    return np.concatenate([errors / NOTE_SPREAD_CENTS, changes / _spreads(parameters)])


def list_initial_geometries() -> tuple[str, ...]:
    """List the ids of all remembered tubes; derived ones come after those they derive from."""
    ids = sorted(file.stem for file in (_FOLDER / "initial_geometries").glob("*.toml"))
    return tuple(sorted(ids, key=lambda one: _read_initial_table(one).has("from")))


@cache
def calibrate_initial(initial_id: str) -> CalibratedTube:
    """Calibrate a remembered tube by the ordinary fingerings of its layout."""
    return calibrate(load_initial_geometry(initial_id), list_calibrating_notes(initial_id))


def list_calibrating_notes(initial_id: str) -> list[OrdinaryNote]:
    """List the ordinary notes below the altissimo by which a remembered tube is calibrated.

    Its file may name fingerings that are left out, because this tube can't have them in tune.
    """
    table = _read_initial_table(initial_id)
    layout = load_layout(table.text("layout"))
    without = table.texts("without") if table.has("without") else ()
    left_out = {parse_fingering(text, layout) for text in without}
    notes, _ = split_altissimo(list_notes(layout))
    return [note for note in notes if note.fingering not in left_out]


def load_initial_geometry(initial_id: str) -> Geometry:
    """Load a remembered tube, or derive it from the calibrated one that its file names.

    A derived tube is longer, perhaps wider, perhaps carried on below by a bell that stands lower
    and by further holes, which the file gives in mm of the derived tube.
    """
    table = _read_initial_table(initial_id)
    if not table.has("from"):
        return read_geometry(_initial_path(initial_id).read_text(encoding="utf-8"), initial_id)
    model = calibrate_initial(table.text("from")).geometry
    kind = KINDS[table.texts("kinds")[0]]
    layout = load_layout(table.text("layout"))
    scaled = scale_geometry(
        model,
        2.0 ** (table.number("longer_by_cents") / 1200.0),
        across=2.0 ** (table.number("wider_by_cents") / 1200.0),
    )
    made = replace(
        _carry_on(scaled, table),
        id=initial_id,
        kind_ids=table.texts("kinds"),
        layout_id=layout.id,
        like_layout_ids=(),
        treble_transposition_cents=kind.transposition.cents - kind.treble_shift_cents,
        lowest_cents=float(layout.lowest.cents),
        provenance=table.text("provenance"),
    )
    check_geometry(made, [hole.id for hole in layout.holes])
    return made


def _carry_on(geometry: Geometry, table: Table) -> Geometry:
    if not table.has("bell_lower_by_mm"):
        return geometry
    lower = Parameter(Measure.BELL_PLACE, None, 1.0)
    longer = change_geometry(geometry, [lower], [table.number("bell_lower_by_mm")])
    further = tuple(map(read_hole, table.tables("holes")))
    return replace(longer, holes=(*longer.holes, *further))


def scale_geometry(geometry: Geometry, factor: float, *, across: float = 1.0) -> Geometry:
    """Stretch a tube by a factor, and by another across: its bore, its holes and their pads."""

    def scale_hole(hole: ToneHole) -> ToneHole:
        return replace(
            hole,
            x_mm=hole.x_mm * factor,
            radius_mm=hole.radius_mm * across,
            chimney_mm=hole.chimney_mm * across,
            pad_height_mm=None if hole.pad_height_mm is None else hole.pad_height_mm * across,
        )

    return replace(
        geometry,
        pad_rim_mm=geometry.pad_rim_mm * across,
        hole_rim_mm=geometry.hole_rim_mm * across,
        bore=tuple(BoreStation(s.x_mm * factor, s.radius_mm * across) for s in geometry.bore),
        holes=tuple(map(scale_hole, geometry.holes)),
        reed=_scale_reed(geometry.reed, factor),
    )


def _scale_reed(reed: Reed | None, factor: float) -> Reed | None:
    return reed and Reed(reed.length_mm * factor, reed.resonance_hz / factor)


def _initial_path(initial_id: str) -> Path:
    return _FOLDER / "initial_geometries" / f"{initial_id}.toml"


def _read_initial_table(initial_id: str) -> Table:
    return parse_table(_initial_path(initial_id).read_text(encoding="utf-8"), initial_id)


_REMARK = (
    "Made by python -m analysis.acoustics.calibration; change the file in initial_geometries/ "
    "instead.\nx counts in mm from the pressure antinode near the tip of the mouthpiece."
)

_CALIBRATED = (
    " All measures then calibrated within their spreads so that the ordinary fingerings below the "
    "altissimo are in tune: equal temperament, A4 = 440 Hz, 26 degrees C."
)


def main() -> None:
    """Calibrate remembered tubes, write their files, and say how well they are in tune."""
    for initial_id in sys.argv[1:] or list_initial_geometries():
        made = calibrate_initial(initial_id)
        geometry = replace(made.geometry, provenance=made.start.provenance + _CALIBRATED)
        path = _FOLDER / "geometries" / f"{initial_id}.toml"
        path.write_text(write_geometry(geometry, _REMARK), encoding="utf-8")
        model = TubeModel(made.geometry, find_air(CALIBRATION_TEMPERATURE_C))
        rms = find_rms(made.notes, find_errors(model, made.notes))
        words = ", ".join(f"{group} {cents:.1f}" for group, cents in rms.items())
        sys.stdout.write(f"{initial_id}: rms in cents: {words}\n")


if __name__ == "__main__":
    main()
