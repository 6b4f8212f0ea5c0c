"""Resonances of the soprano's tube without a screening, for tests of transitions."""

import numpy as np

from analysis.acoustics import (
    CALIBRATION_TEMPERATURE_C,
    TubeModel,
    decode_holes,
    find_air,
    find_resonances,
    load_geometry,
)
from analysis.acoustics.linkage import Bits
from analysis.keywork import load_layout, parse_fingering
from analysis.pitch import WrittenPitch
from analysis.planning import Played
from analysis.planning.motion_cost import Real

SOPRANO = load_layout("soprano-17-6")
_GEOMETRY = load_geometry("b-flat-soprano", SOPRANO.id)
_TUBE = TubeModel(_GEOMETRY, find_air(CALIBRATION_TEMPERATURE_C))


def find_cents(holes: Bits) -> Real:
    """Resonances of hole sets, written cents."""
    found = find_resonances(_TUBE, decode_holes(holes, len(SOPRANO.holes)))
    return np.asarray(found - _GEOMETRY.treble_transposition_cents)


def played(text: str, note: str) -> Played:
    """A fingering of the soprano and the note that it plays."""
    written = WrittenPitch.from_canonical(note)
    return Played(parse_fingering(text, SOPRANO), float(written.cents))
