"""Air around the damper, behind its bladder, and left or dissolved in its oil.

Pressures are absolute (Pa), temperatures absolute (K).
"""

import math

from buildlint.physics._checks import finite, not_negative, positive
from buildlint.physics.displacement import circle_area

AIR_SOLUBILITY = 0.19
"""Ostwald coefficient of air in silicone oil, upper end of 0.10 to 0.19.

From memory, no source at hand: a default that a measurement replaces.
"""

CABIN_ALTITUDE = 2438.4
"""Highest pressure altitude of an airliner's cabin in normal use, m: 8,000 ft, 14 CFR 25.841(a)."""

# US Standard Atmosphere 1976, in its own constants.
_SEA_LEVEL_PRESSURE = 101325.0
_SEA_LEVEL_TEMPERATURE = 288.15
_LAPSE = 0.0065  # K per m of geopotential altitude
_EARTH_RADIUS = 6356766.0
_EXPONENT = 9.80665 * 0.0289644 / (8.31432 * _LAPSE)  # g0 M / (R L), printed as 5.25588


def standard_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere at a geometric altitude, Pa.

    `altitude` above sea level in m, -500 to 11000. Raises ValueError otherwise.
    Source: US Standard Atmosphere 1976 (ISO 2533 is the same here).

    >>> round(standard_pressure(2000.0), 1)
    79501.4
    """
    if not -500.0 <= altitude <= 11000.0:
        raise ValueError(f"altitude must lie between -500 and 11000 m, not {altitude}")
    geopotential = _EARTH_RADIUS * altitude / (_EARTH_RADIUS + altitude)
    ratio = 1.0 - _LAPSE * geopotential / _SEA_LEVEL_TEMPERATURE
    return float(_SEA_LEVEL_PRESSURE * ratio**_EXPONENT)


def air_change(
    air: float,
    bench_temperature: float,
    bench_pressure: float,
    temperature: float,
    pressure: float,
) -> float:
    """Change in volume of the air left in the oil since the bench, m^3.

    `air` at the bench in m^3, zero or above; temperatures in K and pressures in Pa, above zero.
    Behind a sealed cap give the bench's pressure twice: the ambient then has no say. Raises
    ValueError for arguments outside these ranges.
    Source: derived: the ideal gas law, v (T/T0 p0/p - 1).

    100 mm^3 from sea level to 2000 m at one temperature:

    >>> round(air_change(100e-9, 298.15, 101325.0, 298.15, 79501.4) * 1e9, 2)
    27.45
    """
    not_negative("air", air)
    positive("bench temperature", bench_temperature)
    positive("bench pressure", bench_pressure)
    positive("temperature", temperature)
    positive("pressure", pressure)
    return air * (temperature / bench_temperature * (bench_pressure / pressure) - 1.0)


def sealed_pressure(
    pressure: float,
    gas_volume: float,
    taken: float,
    bench_temperature: float,
    temperature: float,
    exponent: float = 1.0,
) -> float:
    """Pressure of the gas sealed over a bladder when the oil takes part of its room, Pa.

    `pressure` at the bench in Pa and `gas_volume` there in m^3, above zero; `taken` of that volume
    in m^3, negative when the bladder is drawn away; temperatures in K, above zero; `exponent` 1
    for a slow change to 1.4 for a quick one. Infinite when all the room is taken: the damper is
    locked. Raises ValueError for arguments outside these ranges.
    Source: derived: polytropic ideal gas, p0 (V0/(V0 - dV))^n T/T0.

    48.106 mm^3 of 600 mm^3 taken, slowly and quickly, in kPa:

    >>> round(sealed_pressure(101325.0, 600e-9, 48.106e-9, 298.15, 298.15) / 1e3, 3)
    110.157
    >>> round(sealed_pressure(101325.0, 600e-9, 48.106e-9, 298.15, 298.15, 1.4) / 1e3, 3)
    113.902
    """
    positive("pressure", pressure)
    positive("gas volume", gas_volume)
    finite("volume taken", taken)
    positive("bench temperature", bench_temperature)
    positive("temperature", temperature)
    if not 1.0 <= exponent < math.inf:
        raise ValueError(f"exponent must be 1 or above, not {exponent}")
    if taken >= gas_volume:
        return math.inf
    try:
        squeeze = (gas_volume / (gas_volume - taken)) ** exponent
    except OverflowError:
        return math.inf
    return float(pressure * squeeze * (temperature / bench_temperature))


def push_out_force(shaft_diameter: float, inside: float, outside: float) -> float:
    """Force that pushes the shaft out, N; negative when it is drawn in.

    `shaft_diameter` in m, above zero; pressures `inside` and `outside` in Pa, zero or above, inside
    infinite when the damper is locked. Raises ValueError for arguments outside these ranges.
    Source: derived: A_s (p_inside - p_outside).

    >>> round(push_out_force(0.0035, 110157.0, 101325.0), 4)
    0.085
    """
    if not inside >= 0.0:
        raise ValueError(f"pressure inside must be zero or above, not {inside}")
    not_negative("pressure outside", outside)
    return circle_area(shaft_diameter) * (inside - outside)


def freed_air(
    oil_volume: float, pressure: float, lower_pressure: float, ostwald: float = AIR_SOLUBILITY
) -> float:
    """Most air that oil can give up when the pressure on it drops, m^3 at the lower pressure.

    `oil_volume` in m^3, zero or above; `pressure` at which the oil is saturated and
    `lower_pressure` in Pa, above zero; `ostwald`, the volume of air dissolved per volume of oil,
    zero or above. Zero when the pressure does not drop. An upper bound, never a prediction: how
    much comes out, and how soon, depends on shaking and time. Raises ValueError for arguments
    outside these ranges.
    Source: derived from Henry's law: V K (p0 - p)/p; the default K from memory, no source at hand.

    9 mL taken from sea level to a cabin at 75.3 kPa:

    >>> round(freed_air(9e-6, 101325.0, 75300.0) * 1e9)  # mm^3
    591
    """
    not_negative("oil volume", oil_volume)
    positive("pressure", pressure)
    positive("lower pressure", lower_pressure)
    not_negative("Ostwald coefficient", ostwald)
    return oil_volume * ostwald * max(0.0, pressure - lower_pressure) / lower_pressure
