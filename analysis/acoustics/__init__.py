"""Acoustics: transfer matrices of bore and tone holes, and the resonances of a fingering.

Everything here follows from the measures of the tube alone, not from a player's takes.
"""

from typing import TYPE_CHECKING

from analysis.late_names import late_names

if TYPE_CHECKING:
    from analysis.acoustics.air import CALIBRATION_TEMPERATURE_C, Air, find_air
    from analysis.acoustics.catalogue import list_geometries, load_geometry
    from analysis.acoustics.errors import (
        AcousticsError,
        GeometryError,
        TemperatureOutOfRange,
        UnknownGeometry,
    )
    from analysis.acoustics.geometry import BoreStation, Geometry, ToneHole
    from analysis.acoustics.linkage import Linkage, decode_holes, encode_holes
    from analysis.acoustics.parameters import (
        Measure,
        Parameter,
        Spreads,
        change_geometry,
        list_parameters,
    )
    from analysis.acoustics.resonances import (
        RESONANCE_COUNT,
        Resonance,
        encode_states,
        find_register,
        find_resonances,
        predict,
    )
    from analysis.acoustics.screening import Screened, Screening, find_fingerprint
    from analysis.acoustics.sensitivities import find_sensitivities
    from analysis.acoustics.tube_model import HOLE_STATES, TubeModel

__all__ = [
    "CALIBRATION_TEMPERATURE_C",
    "HOLE_STATES",
    "RESONANCE_COUNT",
    "AcousticsError",
    "Air",
    "BoreStation",
    "Geometry",
    "GeometryError",
    "Linkage",
    "Measure",
    "Parameter",
    "Resonance",
    "Screened",
    "Screening",
    "Spreads",
    "TemperatureOutOfRange",
    "ToneHole",
    "TubeModel",
    "UnknownGeometry",
    "change_geometry",
    "decode_holes",
    "encode_holes",
    "encode_states",
    "find_air",
    "find_fingerprint",
    "find_register",
    "find_resonances",
    "find_sensitivities",
    "list_geometries",
    "list_parameters",
    "load_geometry",
    "predict",
]
__getattr__ = late_names(__name__, __file__)
