"""Physical constants of the air in the tube, by temperature.

Conventions: SI units; temperatures in degrees C in the arguments. Dry air at 1013 hPa: breath is
moist and holds more carbon dioxide, which shifts all pitches by a few cents together and is not
modelled.

Source: Chaigne & Kergomard, Acoustics of Musical Instruments (Springer 2016), chapter 5, table of
air constants (p. 241 of that edition).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from analysis.acoustics.errors import TemperatureOutOfRange

ZERO_C_IN_K = 273.15
JOULE_PER_CALORIE = 4.184

# The temperature at which every shipped geometry is in tune: from memory, the middle of a warm
# instrument; A4 = 440 Hz there.
CALIBRATION_TEMPERATURE_C = 26.0


@dataclass(frozen=True, slots=True)
class Air:
    """Constants of still, dry air.

    `viscous_length_m` is viscosity / (density x speed of sound), `thermal_length_m` the same for
    heat: conductivity / (density x speed of sound x specific heat).
    """

    temperature_c: float
    density_kg_m3: float
    sound_speed_m_s: float
    heat_ratio: float
    viscous_length_m: float
    thermal_length_m: float


def find_air(temperature_c: float = CALIBRATION_TEMPERATURE_C) -> Air:
    """Find the constants of air at a temperature.

    Density and speed of sound go with absolute temperature and its square root; viscosity and
    conductivity are linear fits.

    Args:
        temperature_c: 0 to 45 degrees C.

    Raises:
        TemperatureOutOfRange: outside that range, or not a number.

    >>> round(find_air(20.0).sound_speed_m_s, 1)
    343.4
    """
    if not (math.isfinite(temperature_c) and 0.0 <= temperature_c <= 45.0):
        raise TemperatureOutOfRange(temperature_c)
    ratio = (temperature_c + ZERO_C_IN_K) / ZERO_C_IN_K
    density = 1.2929 / ratio
    speed = 331.45 * math.sqrt(ratio)
    viscosity = 1.708e-5 * (1.0 + 0.0029 * temperature_c)
    conductivity = 5.77e-3 * (1.0 + 0.0033 * temperature_c) * JOULE_PER_CALORIE
    specific_heat = 240.0 * JOULE_PER_CALORIE
    return Air(
        temperature_c=temperature_c,
        density_kg_m3=density,
        sound_speed_m_s=speed,
        heat_ratio=1.402,
        viscous_length_m=viscosity / (density * speed),
        thermal_length_m=conductivity / (density * speed * specific_heat),
    )
