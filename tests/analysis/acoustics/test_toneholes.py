import math
from dataclasses import replace

import numpy as np
import pytest

from analysis.acoustics.air import find_air
from analysis.acoustics.toneholes import ToneHoleSection, find_hole_matrix, pad_length_m
from analysis.keywork import HoleState

AIR = find_air(26.0)
OMEGA = np.array([2 * np.pi * 50.0])
HOLE = ToneHoleSection(
    radius_m=0.004,
    bore_radius_m=0.0075,
    chimney_m=0.008,
    pad_length_m=0.0,
    iris_radius_m=0.0013,
    iris_thickness_m=0.0,
)


def find_shunt(hole: ToneHoleSection, state: HoleState) -> complex:
    return complex(1 / find_hole_matrix(hole, state, omega=OMEGA, air=AIR).c[0])


def test_a_closed_hole_is_the_spring_of_its_volume() -> None:
    # Low-frequency limit: rho c^2 / (j w V), with V the chimney and the matching volume.
    volume = math.pi * HOLE.radius_m**2 * (HOLE.chimney_m + HOLE.matching_length_m)
    expected = AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / (OMEGA[0] * volume)
    assert -find_shunt(HOLE, HoleState.CLOSED).imag == pytest.approx(expected, rel=0.05)


def test_an_open_hole_is_the_mass_of_its_air() -> None:
    # Low-frequency limit: j w rho t / (pi b^2); t is chimney, outer end (0.6133 b, Levine &
    # Schwinger 1948), matching volume, and inner end: for b / a = 0.533, 0.822 - 0.095 d -
    # 1.566 d^2 + 2.138 d^3 - 1.640 d^4 + 0.502 d^5 = 0.547 radii (Lefebvre & Scavone 2012).
    length = HOLE.chimney_m + HOLE.matching_length_m + (0.6133 + 0.547) * HOLE.radius_m
    expected = OMEGA[0] * AIR.density_kg_m3 * length / (math.pi * HOLE.radius_m**2)
    assert find_shunt(HOLE, HoleState.OPEN).imag == pytest.approx(expected, rel=0.08)


@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.8])
def test_the_matching_volume_is_the_saddle_between_hole_and_bore(ratio: float) -> None:
    # The mean depth of the bore's wall under the hole, integrated over the hole's disc.
    a = 0.0075
    hole = replace(HOLE, radius_m=ratio * a)
    y = (np.arange(20000) + 0.5) / 20000 * ratio * a
    width = np.sqrt((ratio * a) ** 2 - y**2)
    mean_depth = np.average(a - np.sqrt(a**2 - y**2), weights=width)
    assert hole.matching_length_m == pytest.approx(mean_depth, rel=0.03)


def test_the_inner_end_of_a_small_hole_is_that_of_a_flange() -> None:
    # Limit of Lefebvre & Scavone (2012) eq. 31 for a vanishing hole: 0.822 radii, Norris & Sheng's
    # flanged end.
    small = replace(HOLE, radius_m=0.0004, chimney_m=0.1)
    inner = find_shunt(small, HoleState.OPEN).imag
    longer = find_shunt(replace(small, chimney_m=0.1 + 0.822e-3 * 0.4), HoleState.OPEN).imag
    assert longer > inner


def test_a_tall_hole_disturbs_the_bore_alike_open_and_closed() -> None:
    # Lefebvre & Scavone (2012) eqs. 33 and 34 meet at -0.29 for tall chimneys.
    tall = replace(HOLE, chimney_m=0.05)
    series = [
        find_hole_matrix(tall, state, omega=OMEGA, air=AIR).b[0].imag
        for state in (HoleState.OPEN, HoleState.CLOSED)
    ]
    ratio = HOLE.radius_m / HOLE.bore_radius_m
    length = -0.29 * HOLE.radius_m * ratio**2
    bore = AIR.density_kg_m3 / (math.pi * HOLE.bore_radius_m**2)
    assert series == pytest.approx([OMEGA[0] * bore * length] * 2, rel=0.02)


def test_a_shaded_hole_is_heavier_than_an_open_one_and_the_heavier_the_less_is_left() -> None:
    shunts = [find_shunt(HOLE, HoleState.OPEN).imag]
    for iris_m in (0.003, 0.002, 0.001):
        shunts.append(find_shunt(replace(HOLE, iris_radius_m=iris_m), HoleState.SHADED).imag)
    assert shunts == sorted(shunts)


def test_a_hole_without_pad_gets_no_pad_length() -> None:
    assert pad_length_m(radius_mm=4, pad_rim_mm=1.5, height_mm=None, rim_mm=1) == 0.0


@pytest.mark.parametrize("state", list(HoleState))
def test_every_hole_is_reciprocal(state: HoleState) -> None:
    m = find_hole_matrix(HOLE, state, omega=2 * np.pi * np.array([100.0, 1000.0]), air=AIR)
    assert m.a * m.d - m.b * m.c == pytest.approx(np.ones(2), abs=1e-9)
