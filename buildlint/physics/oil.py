"""Damper oil: growth with heat, viscosity and density with temperature, units and blends.

Temperatures are absolute (K), viscosities kinematic (m^2/s; 1 cSt = 1e-6 m^2/s) unless a name
says dynamic. A bottle's "weight" is not a unit and nothing here reads one.
"""

import math
from collections.abc import Sequence

import numpy as np

from buildlint.physics.values import (
    Mask,
    Values,
    finite,
    formula,
    not_negative,
    positive,
    within,
)

SILICONE_EXPANSION = 9.7e-4
"""Cubic expansion of silicone oil, 1/K, mean over 20 to 50 degC.

Tait parameters in Danner & High, Handbook of Polymer Solution Thermodynamics: 10.1e-4 at 100 cSt,
9.76e-4 at 350, 9.49e-4 at 1000; the thinner oil grows more. A default that a measurement replaces.
"""

SILICONE_EXPANSION_TOLERANCE = 0.6e-4
"""Half-width about SILICONE_EXPANSION, 1/K: it covers those three (ours, not published)."""

ALUMINIUM_EXPANSION = 23.6e-6
"""Linear expansion of an aluminium body, 1/K.

Aluminium 6061, mean over 20 to 100 degC; NIST's fit gives 22.6e-6 at 293 K.
"""

SILICONE_SLOPE = 1757.0
"""Slope B of ln(viscosity) against 1/T for silicone oil, K.

Two published forms agree on it: 763.1 ln 10 K, and 5.892 times 298.15 K.
"""

SILICONE_DENSITY = 968.0
"""Density of silicone oil at 25 degC, kg/m^3.

Tait parameters in Danner & High, Handbook of Polymer Solution Thermodynamics: 965.3 at 100 cSt,
970.3 at 350, 969.9 at 1000. A default that a measurement replaces.
"""

SILICONE_DENSITY_TOLERANCE = 5.0
"""Half-width about SILICONE_DENSITY, kg/m^3: it covers those three (ours, not published)."""

LEAST_BLEND_TOLERANCE = 0.02
"""The least that a blend's viscosity may be off, as a share: ours, not published."""

REFERENCE_TEMPERATURE = 298.15
"""25 degC in K: the temperature at which silicone oils are graded."""

_FAHRENHEIT_100 = (100.0 + 459.67) / 1.8
_FAHRENHEIT_210 = (210.0 + 459.67) / 1.8
_PER_CST = 1e6  # cSt in one m^2/s
_SAYBOLT_SLOPE = 4.6324  # seconds for each cSt, at high viscosity
_LEAST_SAYBOLT = 32.0  # seconds; the scale has no value below
_LEAST_PETROLEUM = 2.0  # cSt; Z = viscosity + 0.7 holds from here up


@formula
def growth(
    oil_volume: Values,
    temperature_change: Values,
    expansion: Values = SILICONE_EXPANSION,
    body_expansion: Values = ALUMINIUM_EXPANSION,
) -> Values:
    """Return the growth of the oil over that of the metal body, m^3; negative on cooling.

    `oil_volume` at the bench in m^3, zero or above; `temperature_change` since then in K, signed;
    `expansion` of the oil (cubic) and `body_expansion` (linear) in 1/K. Return nan for a negative
    volume or a number that is not finite.
    Source: derived: V (beta - 3 alpha) (T - T0), to first order.

    9 mL warmed by 30 K, net and in a body that does not grow:

    >>> round(growth(9e-6, 30.0) * 1e9, 1)  # mm^3
    242.8
    >>> round(growth(9e-6, 30.0, body_expansion=0.0) * 1e9, 1)
    261.9
    """
    ok = not_negative(oil_volume) & finite(temperature_change, expansion, body_expansion)
    return within(ok, oil_volume * (expansion - 3.0 * body_expansion) * temperature_change)


@formula
def viscosity_at(
    viscosity: Values, at: Values, temperature: Values, slope: Values = SILICONE_SLOPE
) -> Values:
    """Return the kinematic viscosity of silicone oil at another temperature, m^2/s.

    `viscosity` in m^2/s, known `at` a temperature in K, wanted at `temperature` in K, all above
    zero; `slope` B in K. Meant for 0 to 60 degC, where the default slope is within 6 % of measured
    silicone oil. Return nan for arguments that are not above zero, a slope that is not finite, or a
    temperature so far off that there is no number for the answer.
    Source: nu exp[B (1/T - 1/T_ref)], Andrade's form; the default B from two published fits.

    100 cSt at 25 degC is 75.41 cSt at 40 degC:

    >>> round(viscosity_at(100e-6, 298.15, 313.15, slope=1756.7) * 1e6, 2)
    75.41
    """
    answer = viscosity * np.exp(slope * (1.0 / temperature - 1.0 / at))
    return within(positive(viscosity, at, temperature) & finite(slope, answer), answer)


@formula
def slope_from_two_points(
    viscosity: Values, at: Values, second_viscosity: Values, second_at: Values
) -> Values:
    """Return the slope B of ln(viscosity) against 1/T through two readings, K; for `viscosity_at`.

    Viscosities in m^2/s and temperatures `at` and `second_at` in K, all above zero, in either
    order. Return nan outside that, for equal temperatures, and for an oil that would be thicker
    when warmer (the readings are then the wrong way round).
    Source: derived from nu exp[B (1/T - 1/T_ref)].

    100 cSt at 25 degC and 53.85 cSt at 60 degC:

    >>> round(slope_from_two_points(100e-6, 298.15, 53.85e-6, 333.15))
    1757
    """
    slope = np.log(viscosity / second_viscosity) / (1.0 / at - 1.0 / second_at)
    return within(_go_together(viscosity, at, second_viscosity, second_at), slope)


@formula
def slope_from_vtc(vtc: Values) -> Values:
    """Return the slope B in K from a viscosity-temperature coefficient; for `viscosity_at`.

    `vtc` is 1 - nu(210 degF)/nu(100 degF), between 0 and 1. Return nan outside that.
    Source: derived: B = -ln(1 - VTC)/(1/T(100 degF) - 1/T(210 degF)).

    >>> round(slope_from_vtc(0.60))
    1734
    """
    slope = -np.log1p(-vtc) / (1.0 / _FAHRENHEIT_100 - 1.0 / _FAHRENHEIT_210)
    return within((vtc > 0.0) & (vtc < 1.0), slope)


@formula
def petroleum_viscosity(
    viscosity: Values, at: Values, second_viscosity: Values, second_at: Values, temperature: Values
) -> Values:
    """Return the kinematic viscosity of a petroleum oil from two readings, m^2/s. Not for silicone.

    Viscosities in m^2/s, 2 cSt or more, the answer too; temperatures in K, above zero, the
    readings' unequal, in either order. Return nan outside that, for an oil that would be thicker
    when warmer, and for a temperature where the form has no value.
    Source: ASTM D341: log log (nu + 0.7) = A - B log T, nu in cSt.

    32 cSt at 40 degC and 5.4 cSt at 100 degC:

    >>> round(petroleum_viscosity(32e-6, 313.15, 5.4e-6, 373.15, 353.15) * 1e6, 3)
    8.533
    """
    # Decimal logarithms only scale A: natural ones leave the answer as it is.
    first, second = (
        np.log(np.log(each * _PER_CST + 0.7)) for each in (viscosity, second_viscosity)
    )
    slope = (first - second) / np.log(second_at / at)
    answer = np.exp(np.exp(first - slope * np.log(temperature / at))) - 0.7
    # A hair of room, so that 2 cSt itself is not lost to rounding of the unit.
    least = _LEAST_PETROLEUM / _PER_CST * (1.0 - 1e-12)
    ok = _go_together(viscosity, at, second_viscosity, second_at) & positive(temperature)
    ok = ok & (viscosity >= least) & (second_viscosity >= least)
    return within(ok & (answer >= _LEAST_PETROLEUM) & (answer < math.inf), answer / _PER_CST)


@formula
def density_at(
    density: Values, temperature: Values, expansion: Values = SILICONE_EXPANSION
) -> Values:
    """Return the density of the oil at a temperature, kg/m^3.

    `density` at 25 degC in kg/m^3 and `temperature` in K, above zero; `expansion` (cubic) in 1/K,
    zero or above. Return nan outside that, and where the expansion leaves no volume.
    Source: derived: rho / (1 + beta (T - 25 degC)).

    >>> density_at(968.0, 298.15)
    968.0
    >>> round(density_at(968.0, 328.15), 2)  # the gross growth of 9 mL by 261.9 mm^3, over 30 K
    940.63
    """
    volume = 1.0 + expansion * (temperature - REFERENCE_TEMPERATURE)
    ok = positive(density, temperature) & not_negative(expansion) & (volume > 0.0)
    return within(ok, density / volume)


@formula
def kinematic(dynamic_viscosity: Values, density: Values) -> Values:
    """Return the kinematic viscosity, m^2/s, from a dynamic one.

    `dynamic_viscosity` in Pa s and `density` in kg/m^3, both above zero. Return nan outside that.
    Source: definition: nu = mu / rho.

    >>> round(kinematic(0.363, 968.0) * 1e6, 6)  # 363 mPa s
    375.0
    """
    return within(positive(dynamic_viscosity, density), dynamic_viscosity / density)


@formula
def dynamic(viscosity: Values, density: Values) -> Values:
    """Return the dynamic viscosity, Pa s, from a kinematic one.

    `viscosity` in m^2/s and `density` in kg/m^3, both above zero. Return nan outside that.
    Source: definition: mu = nu rho.

    >>> round(dynamic(375e-6, 968.0) * 1e3, 6)  # mPa s
    363.0
    """
    return within(positive(viscosity, density), viscosity * density)


@formula
def blend_viscosity(shares: Sequence[Values], viscosities: Sequence[Values]) -> Values:
    """Return the kinematic viscosity of a blend of grades of one fluid, m^2/s.

    `shares` in any one unit, zero or above, not all zero (they are divided by their sum);
    `viscosities` in m^2/s, above zero, all at one temperature, as many as the shares. Return nan
    outside that; raise ValueError where there are more of one than of the other.
    Source: logarithmic mixing law, Arrhenius 1887, as listed among blending laws in Oil & Gas
    Science and Technology 2021, table 4. No data for silicone blends was found: `blend_tolerance`.

    Equal parts of 100 and 400 cSt make the geometric mean:

    >>> round(blend_viscosity((1.0, 1.0), (100e-6, 400e-6)) * 1e6, 6)
    200.0
    """
    mean = np.exp(_mean(shares, [np.log(viscosity) for viscosity in viscosities]))
    return within(positive(*viscosities), mean)


@formula
def blend_tolerance(shares: Sequence[Values], viscosities: Sequence[Values]) -> Values:
    """Return how far a blend may be off `blend_viscosity`, as a share of it.

    Arguments as for `blend_viscosity`; what has a share of zero does not count. Return nan outside
    their range; raise ValueError where there are more of one than of the other.
    Source: ours, not published: 0.1 (ln(thickest/thinnest))^2, at least 2 %. A mixing law by molar
    mass (exponent 1.5) differs by 1 % for 450 with 600 cSt, 9 % for 350 with 1000, 50 % for 100
    with 1000.

    >>> round(blend_tolerance((1.0, 1.0), (350e-6, 1000e-6)), 3)
    0.11
    """
    thickest: Values = -math.inf
    thinnest: Values = math.inf
    for share, viscosity in zip(shares, viscosities, strict=True):
        some, logarithm = share > 0.0, np.log(viscosity)
        thickest = np.where(some, np.maximum(thickest, logarithm), thickest)
        thinnest = np.where(some, np.minimum(thinnest, logarithm), thinnest)
    apart = thickest - thinnest
    ok = positive(*viscosities, sum(shares)) & not_negative(*shares)
    return within(ok, np.maximum(LEAST_BLEND_TOLERANCE, 0.1 * apart * apart))


@formula
def blend_mean(shares: Sequence[Values], figures: Sequence[Values]) -> Values:
    """Return the density, expansion or slope B of a blend: the mean of its parts' by share.

    `shares` of the volume as for `blend_viscosity`; `figures` in any one unit, as many. Return nan
    outside that; raise ValueError where there are more of one than of the other.
    Source: derived. Density and expansion: masses and volumes add up. Slope, for `viscosity_at`:
    the logarithmic mixing law at two temperatures.

    >>> round(blend_mean((1.0, 3.0), (1688.0, 1732.0)), 6)
    1721.0
    """
    return within(finite(*figures), _mean(shares, figures))


@formula
def saybolt_seconds(viscosity: Values, temperature: Values) -> Values:
    """Return the Saybolt Universal seconds of a kinematic viscosity.

    `viscosity` in m^2/s and `temperature` of both in K, above zero. Return nan outside that, and
    below 32 seconds, where the scale has no value.
    Source: ASTM D2161.

    20 cSt at 100 degF:

    >>> round(saybolt_seconds(20e-6, (100 + 459.67) / 1.8), 3)
    97.823
    """
    nu = viscosity * _PER_CST
    seconds = _saybolt_factor(temperature) * (_SAYBOLT_SLOPE * nu + _saybolt_rest(nu))
    return within(positive(viscosity, temperature) & _on_saybolt_scale(seconds), seconds)


@formula
def viscosity_from_saybolt(seconds: Values, temperature: Values) -> Values:
    """Return the kinematic viscosity, m^2/s, of Saybolt Universal seconds.

    `seconds`, 32 or more; `temperature` of both in K, above zero. Return nan outside that.
    Source: ASTM D2161, solved for the viscosity.

    100 seconds at 100 degF, in cSt:

    >>> round(viscosity_from_saybolt(100.0, (100 + 459.67) / 1.8) * 1e6, 3)
    20.515
    """
    wanted = seconds / _saybolt_factor(temperature)
    ok = positive(temperature) & _on_saybolt_scale(seconds) & (wanted > _saybolt_rest(0.0))
    wanted = within(ok, wanted)
    # The rest falls by at most 1.5 for each cSt, so every round leaves less than a third of the
    # error: it cannot fail to settle, and needs no derivative.
    nu = wanted / _SAYBOLT_SLOPE
    for _ in range(60):
        before = nu
        nu = (wanted - _saybolt_rest(nu)) / _SAYBOLT_SLOPE
        if not np.any(np.abs(nu - before) > 1e-14 * nu):
            break
    return nu / _PER_CST


def _go_together(
    viscosity: Values, at: Values, second_viscosity: Values, second_at: Values
) -> Mask:
    """Return where two readings can be of one oil: it cannot be thicker when warmer."""
    thinner = (viscosity - second_viscosity) * (second_at - at) >= 0.0
    return positive(viscosity, at, second_viscosity, second_at) & (at != second_at) & thinner


def _mean(shares: Sequence[Values], values: Sequence[Values]) -> Values:
    """Return the mean of the values by share; where no share is above zero, nan."""
    whole: Values = sum(shares)
    mean: Values = sum(share / whole * value for share, value in zip(shares, values, strict=True))
    return within(not_negative(*shares) & positive(whole), mean)


def _saybolt_factor(temperature: Values) -> Values:
    return 1.0 + 0.000061 * (temperature * 1.8 - 459.67 - 100.0)


def _saybolt_rest(nu: Values) -> Values:
    """Return what ASTM D2161 adds to 4.6324 nu: much at low viscosity, next to nothing at high."""
    below = 3930.2 + nu * (262.7 + nu * (23.97 + nu * 1.646))
    return (1.0 + 0.03264 * nu) / (below * 1e-5)


def _on_saybolt_scale(seconds: Values) -> Mask:
    return (seconds >= _LEAST_SAYBOLT) & (seconds < math.inf)
