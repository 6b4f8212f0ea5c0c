"""Barrel pull against the closed formula, and against the project's own tube made longer.

Truth: a closed cylinder of length L on its resonance of n quarter waves sounds at n c / (4 L).
"""

import math
from dataclasses import replace

import pytest

from analysis.acoustics import Geometry, find_air, load_geometry, predict
from analysis.day import find_pull_effect
from analysis.day.barrel_pull import QUARTER_WAVES
from analysis.keywork import load_layout, ordinary_fingerings
from analysis.pitch import Register, register_of

# the bore is pulled apart between mouthpiece and barrel, above all holes
JOINT_MM = 85.0
NAMED = ("G4", "B4", "C6", "F#6", "G6")
RESONANCES = {Register.CLARION: 2, Register.ALTISSIMO: 3}


def pull(geometry: Geometry, pull_mm: float) -> Geometry:
    """Return the same tube with its barrel pulled."""
    return replace(
        geometry,
        bore=tuple(
            replace(one, x_mm=one.x_mm + pull_mm * (one.x_mm > JOINT_MM)) for one in geometry.bore
        ),
        holes=tuple(replace(one, x_mm=one.x_mm + pull_mm) for one in geometry.holes),
    )


@pytest.mark.parametrize(
    ("register", "quarter_waves"),
    [(Register.CHALUMEAU, 1), (Register.THROAT, 1), (Register.CLARION, 3), (Register.ALTISSIMO, 5)],
)
def test_a_closed_cylinder_falls_by_what_its_length_says(
    register: Register, quarter_waves: int
) -> None:
    sound_speed_m_s = find_air().sound_speed_m_s
    length_m = 0.42
    before, after = (
        quarter_waves * sound_speed_m_s / (4.0 * each) for each in (length_m, length_m + 0.001)
    )
    assert find_pull_effect(before, register) == pytest.approx(1200 * math.log2(before / after))


def test_open_g4_falls_twice_as_far_as_b4() -> None:
    # about 7 and 3 cents a millimetre (common practice, from memory); written G4 and B4 sound F4
    # and A4 on a B-flat soprano
    g4 = find_pull_effect(440 * 2 ** (-4 / 12), Register.THROAT)
    b4 = find_pull_effect(440.0, Register.CLARION)
    assert g4 == pytest.approx(7.0, abs=0.1)
    assert b4 == pytest.approx(2.9, abs=0.1)


def find_reed_effect(geometry: Geometry, hz: float, register: Register) -> float:
    """Find how far 1 mm of pull lowers a closed cylinder that ends in this reed, in cents.

    The reed stands for a length e(f) with tan(k e) = k a / (1 - (f / g)^2), where k = 2 pi f / c,
    a is its length held still and g its own resonance (Nederveen 1969, from memory). From
    l + e(f) = n c / (4 f) = L follows df / dl = -f / (L + f e'(f)): the more e grows with f, the
    less a millimetre does.
    """
    reed = geometry.reed
    assert reed is not None
    sound_speed_m_s = find_air().sound_speed_m_s

    def find_length_m(each_hz: float) -> float:
        wave_number = 2.0 * math.pi * each_hz / sound_speed_m_s
        yielding_m = reed.length_mm / 1000.0 / (1.0 - (each_hz / reed.resonance_hz) ** 2)
        return math.atan(wave_number * yielding_m) / wave_number

    growth_m = (find_length_m(hz * 1.001) - find_length_m(hz * 0.999)) / 0.002
    length_m = QUARTER_WAVES[register] * sound_speed_m_s / (4.0 * hz)
    return 1200.0 * math.log2(1.0 + 0.001 / (length_m + growth_m))


@pytest.mark.parametrize("step", [4, pytest.param(1, marks=pytest.mark.long_run)])
def test_the_calibrated_tube_falls_as_the_formula_with_its_reed_says(step: int) -> None:
    tube = load_geometry("b-flat-soprano", "soprano-17-6")
    longer = pull(tube, 1.0)
    apart: dict[str, float] = {}
    falls: dict[str, float] = {}
    by_reed: dict[str, float] = {}
    usual = [one for one in ordinary_fingerings(load_layout("soprano-17-6")) if one.choice == 1]
    for at, one in enumerate(usual):
        register, name = register_of(one.written), one.written.canonical
        if at % step and name not in NAMED:
            continue
        place = RESONANCES.get(register, 1) - 1
        before, after = (predict(one.fingering, each)[place] for each in (tube, longer))
        hz = 440 * 2 ** ((before.sounding_cents - 6900) / 1200)
        falls[name] = before.sounding_cents - after.sounding_cents
        apart[name] = abs(falls[name] - find_reed_effect(tube, hz, register))
        by_reed[name] = find_pull_effect(hz, register) - find_reed_effect(tube, hz, register)
    altissimo = {name for name in apart if name[-1] == "6" and name != "C6"}
    assert falls["G4"] == pytest.approx(7.1, abs=0.1)
    assert falls["B4"] == pytest.approx(3.3, abs=0.1)
    # Beyond a closed cylinder with a reed, its cause not measured, a tube does more: the bounds are
    # those of the tube before it had a reed term. C6 is the farthest, in the altissimo F#6.
    assert max(apart[name] for name in apart.keys() - altissimo) < 0.7
    assert max(apart[name] for name in altissimo) < 1.6
    # the reed's own part, which the formula of the day leaves out
    assert by_reed["C6"] == pytest.approx(0.16, abs=0.01)
    assert by_reed["G6"] == pytest.approx(0.67, abs=0.01)
