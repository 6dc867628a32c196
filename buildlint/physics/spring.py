"""Coil springs of round wire."""

from buildlint.physics.values import Values, formula, positive, within

SHEAR_MODULUS = 81.5e9
"""Shear modulus of spring wire, Pa, where the wire is not stated: a default.

A table of spring materials: music wire of 0.84 to 1.6 mm has 81.7 GPa, of 1.63 to 3.2 mm 81.0, hard
drawn wire 79.3, oil tempered and chrome silicon 77.2. (Stainless 302 has 68.9: state it.)
"""

SHEAR_MODULUS_BELOW, SHEAR_MODULUS_ABOVE = 0.06, 0.02
"""How far below and above SHEAR_MODULUS another wire may be, as shares: it covers those."""


@formula
def wire_rate(wire: Values, mean_diameter: Values, coils: Values, shear_modulus: Values) -> Values:
    """Return the rate of a compression spring, N/m.

    `wire` diameter and `mean_diameter` of the coil in m, above zero, the wire the smaller;
    `coils`, the active ones, above zero; `shear_modulus` in Pa, above zero. Return nan outside
    that.
    Source: Shigley's Mechanical Engineering Design: G d^4 / (8 D^3 n).

    1.6 mm wire, 20 mm mean diameter, 6 active coils, in N/mm:

    >>> round(wire_rate(0.0016, 0.020, 6.0, SHEAR_MODULUS) / 1e3, 6)
    1.390933
    """
    slenderness = wire / mean_diameter
    rate = shear_modulus * wire * slenderness * slenderness * slenderness / (8.0 * coils)
    ok = positive(wire, mean_diameter, coils, shear_modulus) & (wire < mean_diameter)
    return within(ok, rate)


@formula
def solid_length(wire: Values, coils: Values) -> Values:
    """Return the length of a spring with closed and ground ends when its coils touch, m.

    `wire` diameter in m and `coils`, the active ones, above zero. Return nan outside that.
    Source: Shigley's Mechanical Engineering Design: (n + 2) d.

    Wire of 0.037 in with 10.5 active coils, in inches. (Example 10-1 there has 0.4995 for this
    spring with its ends not ground: one wire more.)

    >>> round(solid_length(0.037 * 0.0254, 10.5) / 0.0254, 4)
    0.4625
    """
    return within(positive(wire, coils), (coils + 2.0) * wire)
