"""Impedance at the harmonics of a note, against the closed form of a plain tube."""

import numpy as np
import pytest

from analysis.acoustics import CALIBRATION_TEMPERATURE_C, TubeModel, find_air, load_geometry
from analysis.acoustics.resonances import encode_states, find_resonances
from analysis.acoustics.spectrum_envelope import HARMONICS, find_envelope, find_envelope_distance
from analysis.keywork import load_layout, parse_fingering


def test_low_odd_harmonics_are_strong_on_a_closed_tube() -> None:
    # A tube closed by a reed has its peaks at odd multiples of its lowest (Nederveen 1964).
    soprano = load_layout("soprano-17-6")
    geometry = load_geometry("b-flat-soprano", soprano.id)
    model = TubeModel(geometry, find_air(CALIBRATION_TEMPERATURE_C))
    states = encode_states(parse_fingering("T 123 | 123 | right E", soprano))[np.newaxis]
    cents = find_resonances(model, states)[:, 0]
    levels = dict(zip(HARMONICS.tolist(), find_envelope(model, states, cents)[0], strict=True))
    assert levels[3] > levels[2] + 10.0
    assert levels[5] > levels[4]
    assert max(levels.values()) < 0.0


def test_the_distance_is_the_root_mean_square() -> None:
    found = find_envelope_distance(np.array([[3.0, 4.0]]), np.zeros(2))
    assert found[0] == pytest.approx(np.sqrt(12.5))
