"""Damper oil: growth with heat, viscosity and density with temperature, units and blends.

Temperatures are absolute (K), viscosities kinematic (m^2/s; 1 cSt = 1e-6 m^2/s) unless a name
says dynamic. A bottle's "weight" is not a unit and nothing here reads one.
"""

import math

from buildlint.physics._checks import finite, not_negative, positive

SILICONE_EXPANSION = 9.6e-4
"""Cubic expansion of silicone oil, 1/K, for 100 to 1000 cSt.

From memory, no source at hand: a default that a measurement replaces.
"""

SILICONE_EXPANSION_TOLERANCE = 0.3e-4
"""Half-width about SILICONE_EXPANSION, 1/K.

From memory, no source at hand: a default that a measurement replaces.
"""

ALUMINIUM_EXPANSION = 23.6e-6
"""Linear expansion of an aluminium body, 1/K.

From memory, no source at hand: a default that a measurement replaces.
"""

SILICONE_SLOPE = 1757.0
"""Slope B of ln(viscosity) against 1/T for silicone oil, K.

Two published forms agree on it: 763.1 ln 10 K, and 5.892 times 298.15 K.
"""

SILICONE_DENSITY = 968.0
"""Density of silicone oil at 25 degC, kg/m^3.

From memory, no source at hand: a default that a measurement replaces.
"""

SILICONE_DENSITY_TOLERANCE = 5.0
"""Half-width about SILICONE_DENSITY, kg/m^3.

From memory, no source at hand: a default that a measurement replaces.
"""

REFERENCE_TEMPERATURE = 298.15
"""25 degC in K: the temperature at which silicone oils are graded."""

_FAHRENHEIT_100 = (100.0 + 459.67) / 1.8
_FAHRENHEIT_210 = (210.0 + 459.67) / 1.8
_PER_CST = 1e6  # cSt in one m^2/s
_SAYBOLT_SLOPE = 4.6324  # seconds for each cSt, at high viscosity
_LEAST_SAYBOLT = 32.0  # seconds; the scale has no value below
_LEAST_PETROLEUM = 2.0  # cSt; Z = viscosity + 0.7 holds from here up


def growth(
    oil_volume: float,
    temperature_change: float,
    expansion: float = SILICONE_EXPANSION,
    body_expansion: float = ALUMINIUM_EXPANSION,
) -> float:
    """Growth of the oil over that of the metal body that holds it, m^3; negative on cooling.

    `oil_volume` at the bench in m^3, zero or above; `temperature_change` since then in K, signed;
    `expansion` of the oil (cubic) and `body_expansion` (linear) in 1/K. Raises ValueError for a
    negative volume or a number that is not finite.
    Source: derived: V (beta - 3 alpha) (T - T0), to first order.

    9 mL warmed by 30 K, net and in a body that does not grow:

    >>> round(growth(9e-6, 30.0) * 1e9, 1)  # mm^3
    240.1
    >>> round(growth(9e-6, 30.0, body_expansion=0.0) * 1e9, 1)
    259.2
    """
    not_negative("oil volume", oil_volume)
    finite("temperature change", temperature_change)
    finite("expansion", expansion)
    finite("body expansion", body_expansion)
    return oil_volume * (expansion - 3.0 * body_expansion) * temperature_change


def viscosity_at(
    viscosity: float, at: float, temperature: float, slope: float = SILICONE_SLOPE
) -> float:
    """Kinematic viscosity of silicone oil at another temperature, m^2/s.

    `viscosity` in m^2/s, known `at` a temperature in K, wanted at `temperature` in K, all above
    zero; `slope` B in K. Meant for 0 to 60 degC, where the default slope is within 6 % of measured
    silicone oil. Raises ValueError for arguments that are not above zero, a slope that is not
    finite, or a temperature so far off that there is no number for the answer.
    Source: nu exp[B (1/T - 1/T_ref)], Andrade's form; the default B from two published fits.

    100 cSt at 25 degC is 75.41 cSt at 40 degC:

    >>> round(viscosity_at(100e-6, 298.15, 313.15, slope=1756.7) * 1e6, 2)
    75.41
    """
    positive("viscosity", viscosity)
    positive("temperature of the known viscosity", at)
    positive("temperature", temperature)
    finite("slope", slope)
    try:
        return viscosity * math.exp(slope * (1.0 / temperature - 1.0 / at))
    except OverflowError:
        raise ValueError(f"no viscosity can be worked out at {temperature} K") from None


def slope_from_two_points(
    viscosity: float, at: float, second_viscosity: float, second_at: float
) -> float:
    """Slope B of ln(viscosity) against 1/T through two readings, K; for `viscosity_at`.

    Viscosities in m^2/s and temperatures `at` and `second_at` in K, all above zero, in either
    order. Raises ValueError otherwise, for equal temperatures, and for an oil that would be
    thicker when warmer (the readings are then the wrong way round).
    Source: derived from nu exp[B (1/T - 1/T_ref)].

    100 cSt at 25 degC and 53.85 cSt at 60 degC:

    >>> round(slope_from_two_points(100e-6, 298.15, 53.85e-6, 333.15))
    1757
    """
    _check_pair(viscosity, at, second_viscosity, second_at)
    return math.log(viscosity / second_viscosity) / (1.0 / at - 1.0 / second_at)


def slope_from_vtc(vtc: float) -> float:
    """Slope B in K from a viscosity-temperature coefficient; for `viscosity_at`.

    `vtc` is 1 - nu(210 degF)/nu(100 degF), between 0 and 1. Raises ValueError otherwise.
    Source: derived: B = -ln(1 - VTC)/(1/T(100 degF) - 1/T(210 degF)).

    >>> round(slope_from_vtc(0.60))
    1734
    """
    if not 0.0 < vtc < 1.0:
        raise ValueError(
            f"the viscosity-temperature coefficient must lie between 0 and 1, not {vtc}"
        )
    return -math.log1p(-vtc) / (1.0 / _FAHRENHEIT_100 - 1.0 / _FAHRENHEIT_210)


def petroleum_viscosity(
    viscosity: float, at: float, second_viscosity: float, second_at: float, temperature: float
) -> float:
    """Kinematic viscosity of a petroleum oil from two readings, m^2/s. Not for silicone.

    Viscosities in m^2/s, 2 cSt or more, the answer too; temperatures in K, above zero, the
    readings' unequal, in either order. Raises ValueError otherwise, for an oil that would be
    thicker when warmer, and for a temperature where the form has no value.
    Source: ASTM D341: log log (nu + 0.7) = A - B log T, nu in cSt.

    32 cSt at 40 degC and 5.4 cSt at 100 degC:

    >>> round(petroleum_viscosity(32e-6, 313.15, 5.4e-6, 373.15, 353.15) * 1e6, 3)
    8.533
    """
    _check_pair(viscosity, at, second_viscosity, second_at)
    positive("temperature", temperature)
    # Decimal logarithms only scale A: natural ones leave the answer as it is.
    first = _double_log(viscosity)
    slope = (first - _double_log(second_viscosity)) / math.log(second_at / at)
    try:
        answer = math.exp(math.exp(first - slope * math.log(temperature / at))) - 0.7
    except OverflowError:
        answer = math.inf
    if not _LEAST_PETROLEUM <= answer < math.inf:
        raise ValueError(f"the petroleum form has no value at {temperature} K for this oil")
    return answer / _PER_CST


def density_at(density: float, temperature: float, expansion: float = SILICONE_EXPANSION) -> float:
    """Density of the oil at a temperature, kg/m^3.

    `density` at 25 degC in kg/m^3 and `temperature` in K, above zero; `expansion` (cubic) in 1/K,
    zero or above. Raises ValueError otherwise, and where the expansion leaves no volume.
    Source: derived: rho / (1 + beta (T - 25 degC)).

    >>> density_at(968.0, 298.15)
    968.0
    >>> round(density_at(968.0, 328.15), 2)  # the gross growth of 9 mL by 259.2 mm^3, over 30 K
    940.9
    """
    positive("density", density)
    positive("temperature", temperature)
    not_negative("expansion", expansion)
    volume = 1.0 + expansion * (temperature - REFERENCE_TEMPERATURE)
    if not volume > 0.0:
        raise ValueError(f"no density can be worked out at {temperature} K")
    return density / volume


def kinematic(dynamic_viscosity: float, density: float) -> float:
    """Kinematic viscosity, m^2/s, from a dynamic one.

    `dynamic_viscosity` in Pa s and `density` in kg/m^3, both above zero. Raises ValueError
    otherwise.
    Source: definition: nu = mu / rho.

    >>> round(kinematic(0.363, 968.0) * 1e6, 6)  # 363 mPa s
    375.0
    """
    positive("dynamic viscosity", dynamic_viscosity)
    positive("density", density)
    return dynamic_viscosity / density


def dynamic(viscosity: float, density: float) -> float:
    """Dynamic viscosity, Pa s, from a kinematic one.

    `viscosity` in m^2/s and `density` in kg/m^3, both above zero. Raises ValueError otherwise.
    Source: definition: mu = nu rho.

    >>> round(dynamic(375e-6, 968.0) * 1e3, 6)  # mPa s
    363.0
    """
    positive("viscosity", viscosity)
    positive("density", density)
    return viscosity * density


def blend_viscosity(
    shares: tuple[float, ...] | list[float], viscosities: tuple[float, ...] | list[float]
) -> float:
    """Kinematic viscosity of a blend of grades of one fluid, m^2/s.

    `shares` in any one unit, zero or above, not all zero (they are divided by their sum);
    `viscosities` in m^2/s, above zero, all at one temperature, as many as the shares. Raises
    ValueError otherwise.
    Source: logarithmic mixing law, Arrhenius 1887; from memory, no source at hand.

    Equal parts of 100 and 400 cSt make the geometric mean:

    >>> round(blend_viscosity((1.0, 1.0), (100e-6, 400e-6)) * 1e6, 6)
    200.0
    """
    for viscosity in viscosities:
        positive("viscosity", viscosity)
    return math.exp(_mean(shares, [math.log(viscosity) for viscosity in viscosities]))


def blend_mean(
    shares: tuple[float, ...] | list[float], figures: tuple[float, ...] | list[float]
) -> float:
    """Density, expansion or slope B of a blend: the mean of its parts' by share of the volume.

    `shares` as for `blend_viscosity`; `figures` in any one unit, as many. Raises ValueError
    otherwise.
    Source: derived. Density and expansion: masses and volumes add up. Slope, for `viscosity_at`:
    the logarithmic mixing law at two temperatures.

    >>> round(blend_mean((1.0, 3.0), (1688.0, 1732.0)), 6)
    1721.0
    """
    for figure in figures:
        finite("figure", figure)
    return _mean(shares, figures)


def saybolt_seconds(viscosity: float, temperature: float) -> float:
    """Saybolt Universal seconds of a kinematic viscosity.

    `viscosity` in m^2/s and `temperature` of both in K, above zero. Raises ValueError otherwise,
    and below 32 seconds, where the scale has no value.
    Source: ASTM D2161.

    20 cSt at 100 degF:

    >>> round(saybolt_seconds(20e-6, (100 + 459.67) / 1.8), 3)
    97.823
    """
    positive("viscosity", viscosity)
    nu = viscosity * _PER_CST
    seconds = _saybolt_factor(temperature) * (_SAYBOLT_SLOPE * nu + _saybolt_rest(nu))
    if not _LEAST_SAYBOLT <= seconds < math.inf:
        raise ValueError(f"Saybolt Universal seconds start at 32: {viscosity} m^2/s gives none")
    return seconds


def viscosity_from_saybolt(seconds: float, temperature: float) -> float:
    """Kinematic viscosity, m^2/s, of Saybolt Universal seconds.

    `seconds`, 32 or more; `temperature` of both in K, above zero. Raises ValueError otherwise.
    Source: ASTM D2161, solved for the viscosity.

    100 seconds at 100 degF, in cSt:

    >>> round(viscosity_from_saybolt(100.0, (100 + 459.67) / 1.8) * 1e6, 3)
    20.515
    """
    if not _LEAST_SAYBOLT <= seconds < math.inf:
        raise ValueError(f"Saybolt Universal seconds start at 32, not {seconds}")
    wanted = seconds / _saybolt_factor(temperature)
    if not _saybolt_rest(0.0) < wanted:
        raise ValueError(f"Saybolt Universal seconds have no value at {temperature} K")
    # The rest falls by at most 1.5 for each cSt, so every round leaves less than a third of the
    # error: it cannot fail to settle, and needs no derivative.
    nu = wanted / _SAYBOLT_SLOPE
    for _ in range(60):
        before = nu
        nu = (wanted - _saybolt_rest(nu)) / _SAYBOLT_SLOPE
        if abs(nu - before) <= 1e-14 * nu:
            break
    return nu / _PER_CST


def _check_pair(viscosity: float, at: float, second_viscosity: float, second_at: float) -> None:
    positive("viscosity", viscosity)
    positive("second viscosity", second_viscosity)
    positive("temperature of the viscosity", at)
    positive("temperature of the second viscosity", second_at)
    if at == second_at:
        raise ValueError(f"two viscosities at one temperature, {at} K, give no slope")
    if (viscosity - second_viscosity) * (second_at - at) < 0.0:
        raise ValueError("the oil cannot be thicker when warmer: are the two viscosities swapped?")


def _double_log(viscosity: float) -> float:
    centistokes = viscosity * _PER_CST
    # A hair of room, so that 2 cSt itself is not lost to rounding of the unit.
    if centistokes < _LEAST_PETROLEUM * (1.0 - 1e-12):
        raise ValueError(f"the petroleum form starts at 2 cSt, not {centistokes:g}")
    return math.log(math.log(centistokes + 0.7))


def _mean(
    shares: tuple[float, ...] | list[float], values: tuple[float, ...] | list[float]
) -> float:
    if len(shares) != len(values):
        raise ValueError(f"{len(shares)} shares do not match {len(values)} parts")
    for share in shares:
        not_negative("share", share)
    whole = math.fsum(shares)
    if not 0.0 < whole < math.inf:
        raise ValueError("a blend needs at least one share above zero")
    return math.fsum(share / whole * value for share, value in zip(shares, values, strict=True))


def _saybolt_factor(temperature: float) -> float:
    positive("temperature", temperature)
    return 1.0 + 0.000061 * (temperature * 1.8 - 459.67 - 100.0)


def _saybolt_rest(nu: float) -> float:
    """What ASTM D2161 adds to 4.6324 nu: much at low viscosity, next to nothing at high."""
    below = 3930.2 + nu * (262.7 + nu * (23.97 + nu * 1.646))
    return (1.0 + 0.03264 * nu) / (below * 1e-5)
