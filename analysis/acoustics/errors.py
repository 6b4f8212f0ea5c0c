"""Errors in predicting pitch from a tube.

The tree::

    AnalysisError
    +-- AcousticsError
        +-- GeometryError           a geometry file that can't be used: names the hole or field
        +-- UnknownGeometry         this kind of clarinet with this keywork has no geometry
        +-- TemperatureOutOfRange   the air constants do not hold there
"""

from __future__ import annotations

from collections.abc import Sequence

from analysis.errors import AnalysisError


class AcousticsError(AnalysisError):
    """Base of all errors about the acoustics of the tube."""


class GeometryError(AcousticsError):
    """A geometry can't be used; `geometry_id` and `place` (a hole or field) say where."""

    def __init__(self, geometry_id: str, place: str, problem: str) -> None:
        self.geometry_id = geometry_id
        self.place = place
        super().__init__(f"The geometry {geometry_id!r} can't be used: {place}: {problem}")


class UnknownGeometry(AcousticsError):
    """Nothing is known of the tube of this instrument, so nothing can be predicted for it."""

    def __init__(
        self, kind_name: str, layout_id: str, *, known_layouts: Sequence[str], known_kinds: str
    ) -> None:
        way = (
            f"For this kind they exist with {' or '.join(known_layouts)}: choose that keywork if "
            "its holes and keys are those of yours."
            if known_layouts
            else f"Predictions exist for: {known_kinds}. Other kinds are found by measuring alone."
        )
        super().__init__(
            f"No tube is known for {kind_name} with the keywork {layout_id!r}, so its pitches "
            f"can't be predicted. {way}"
        )


class TemperatureOutOfRange(AcousticsError):
    """Air of a temperature that the formulas do not cover."""

    def __init__(self, temperature_c: float) -> None:
        super().__init__(
            f"Air of {temperature_c:g} degrees C was asked for; expected 0 to 45. "
            "Give the temperature inside the instrument."
        )
