"""Air around the damper, behind its bladder, and left or dissolved in its oil.

Pressures are absolute (Pa), temperatures absolute (K).
"""

import math

import numpy as np

from buildlint.physics.displacement import circle_area
from buildlint.physics.values import Values, finite, formula, not_negative, positive, within

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


@formula
def standard_pressure(altitude: Values) -> Values:
    """Return the pressure of the standard atmosphere at a geometric altitude, Pa.

    `altitude` above sea level in m, -500 to 11000. Return nan outside that.
    Source: US Standard Atmosphere 1976 (ISO 2533 is the same here).

    >>> round(standard_pressure(2000.0), 1)
    79501.4
    """
    geopotential = _EARTH_RADIUS * altitude / (_EARTH_RADIUS + altitude)
    ratio = 1.0 - _LAPSE * geopotential / _SEA_LEVEL_TEMPERATURE
    ok = (altitude >= -500.0) & (altitude <= 11000.0)
    return within(ok, _SEA_LEVEL_PRESSURE * ratio**_EXPONENT)


@formula
def air_change(
    air: Values,
    bench_temperature: Values,
    bench_pressure: Values,
    temperature: Values,
    pressure: Values,
) -> Values:
    """Return the change in volume of the air left in the oil since the bench, m^3.

    `air` at the bench in m^3, zero or above; temperatures in K and pressures in Pa, above zero.
    Behind a sealed cap give the bench's pressure twice: the ambient then has no say. Return nan
    outside these ranges.
    Source: derived: the ideal gas law, v (T/T0 p0/p - 1).

    100 mm^3 from sea level to 2000 m at one temperature:

    >>> round(air_change(100e-9, 298.15, 101325.0, 298.15, 79501.4) * 1e9, 2)
    27.45
    """
    change = air * (temperature / bench_temperature * (bench_pressure / pressure) - 1.0)
    ok = not_negative(air) & positive(bench_temperature, bench_pressure, temperature, pressure)
    return within(ok, change)


@formula
def sealed_pressure(
    pressure: Values,
    gas_volume: Values,
    taken: Values,
    bench_temperature: Values,
    temperature: Values,
    exponent: Values = 1.0,
) -> Values:
    """Return the pressure of the gas sealed over a bladder when the oil takes part of its room, Pa.

    `pressure` at the bench in Pa and `gas_volume` there in m^3, above zero; `taken` of that volume
    in m^3, negative when the bladder is drawn away; temperatures in K, above zero; `exponent` 1
    for a slow change to 1.4 for a quick one. Infinite when all the room is taken: the damper is
    locked. Return nan outside these ranges.
    Source: derived: polytropic ideal gas, p0 (V0/(V0 - dV))^n T/T0.

    48.106 mm^3 of 600 mm^3 taken, slowly and quickly, in kPa:

    >>> round(sealed_pressure(101325.0, 600e-9, 48.106e-9, 298.15, 298.15) / 1e3, 3)
    110.157
    >>> round(sealed_pressure(101325.0, 600e-9, 48.106e-9, 298.15, 298.15, 1.4) / 1e3, 3)
    113.902
    """
    left = np.maximum(0.0, gas_volume - taken)  # of no room left the pressure comes out as inf
    squeezed = pressure * (gas_volume / left) ** exponent * (temperature / bench_temperature)
    ok = positive(pressure, gas_volume, bench_temperature, temperature) & finite(taken)
    return within(ok & (exponent >= 1.0) & (exponent < math.inf), squeezed)


@formula
def push_out_force(shaft_diameter: Values, inside: Values, outside: Values) -> Values:
    """Return the force that pushes the shaft out, N; negative when it is drawn in.

    `shaft_diameter` in m, above zero; pressures `inside` and `outside` in Pa, zero or above, inside
    infinite when the damper is locked. Return nan outside these ranges.
    Source: derived: A_s (p_inside - p_outside).

    >>> round(push_out_force(0.0035, 110157.0, 101325.0), 4)
    0.085
    """
    ok = (inside >= 0.0) & not_negative(outside)
    return within(ok, circle_area(shaft_diameter) * (inside - outside))


@formula
def freed_air(
    oil_volume: Values, pressure: Values, lower_pressure: Values, ostwald: Values = AIR_SOLUBILITY
) -> Values:
    """Return the most air that oil can give up, m^3 at the lower pressure, when pressure drops.

    `oil_volume` in m^3, zero or above; `pressure` at which the oil is saturated and
    `lower_pressure` in Pa, above zero; `ostwald`, the volume of air dissolved per volume of oil,
    zero or above. Zero when the pressure does not drop. An upper bound, never a prediction: how
    much comes out, and how soon, depends on shaking and time. Return nan outside these ranges.
    Source: derived from Henry's law: V K (p0 - p)/p; the default K from memory, no source at hand.

    9 mL taken from sea level to a cabin at 75.3 kPa:

    >>> round(freed_air(9e-6, 101325.0, 75300.0) * 1e9)  # mm^3
    591
    """
    freed = oil_volume * ostwald * np.maximum(0.0, pressure - lower_pressure) / lower_pressure
    ok = not_negative(oil_volume, ostwald) & positive(pressure, lower_pressure)
    return within(ok, freed)
