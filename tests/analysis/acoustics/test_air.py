from collections.abc import Callable

import pytest

from analysis.acoustics import Air, TemperatureOutOfRange, find_air

# From memory: ISO 2533:1975, standard atmosphere, sea level at 15 degrees C: speed of sound
# 340.294 m/s,
# density 1.225 kg/m^3, dynamic viscosity 1.7894e-5 Pa s, thermal conductivity 0.025343 W/(m K).
STANDARD = find_air(15.0)


@pytest.mark.parametrize(
    ("measure", "expected", "share"),
    [
        (lambda air: air.sound_speed_m_s, 340.294, 0.001),
        (lambda air: air.density_kg_m3, 1.225, 0.001),
        (
            lambda air: air.viscous_length_m * air.density_kg_m3 * air.sound_speed_m_s,
            1.7894e-5,
            0.01,
        ),
        (
            lambda air: air.thermal_length_m * air.density_kg_m3 * air.sound_speed_m_s * 1004.16,
            0.025343,
            0.01,
        ),
    ],
)
def test_air_at_15_degrees_is_that_of_the_standard_atmosphere(
    measure: Callable[[Air], float], expected: float, share: float
) -> None:
    assert measure(STANDARD) == pytest.approx(expected, rel=share)


def test_sound_at_20_degrees_is_as_fast_as_the_handbook_says() -> None:
    # From memory: ISO 9613-1:1993 takes 343.2 m/s for dry air at 20 degrees C.
    assert find_air(20.0).sound_speed_m_s == pytest.approx(343.2, abs=0.3)


@pytest.mark.parametrize("temperature_c", [-1.0, 46.0, float("nan"), float("inf")])
def test_air_that_no_formula_covers_is_refused(temperature_c: float) -> None:
    with pytest.raises(TemperatureOutOfRange, match="expected 0 to 45"):
        find_air(temperature_c)
