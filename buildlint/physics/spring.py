"""Coil springs of round wire."""

from buildlint.physics._checks import positive

MUSIC_WIRE_SHEAR_MODULUS = 81.5e9
"""Shear modulus of music wire, Pa.

From memory, no source at hand: a default that a measurement replaces.
"""

SHEAR_MODULUS_TOLERANCE = 0.02
"""How far another music wire's shear modulus may be off, as a share: from memory, no source."""


def wire_rate(wire: float, mean_diameter: float, coils: float, shear_modulus: float) -> float:
    """Rate of a compression spring, N/m.

    `wire` diameter and `mean_diameter` of the coil in m, above zero, the wire the smaller;
    `coils`, the active ones, above zero; `shear_modulus` in Pa, above zero. Raises ValueError
    otherwise.
    Source: Shigley's Mechanical Engineering Design: G d^4 / (8 D^3 n).

    1.6 mm wire, 20 mm mean diameter, 6 active coils, in N/mm:

    >>> round(wire_rate(0.0016, 0.020, 6.0, MUSIC_WIRE_SHEAR_MODULUS) / 1e3, 6)
    1.390933
    """
    positive("wire", wire)
    positive("mean diameter", mean_diameter)
    positive("coils", coils)
    positive("shear modulus", shear_modulus)
    if wire >= mean_diameter:
        raise ValueError(f"wire {wire} must be thinner than the coil's mean diameter")
    slenderness = wire / mean_diameter
    return shear_modulus * wire * slenderness * slenderness * slenderness / (8.0 * coils)


def solid_length(wire: float, coils: float) -> float:
    """Length of a spring with closed and ground ends when its coils touch, m.

    `wire` diameter in m and `coils`, the active ones, above zero. Raises ValueError otherwise.
    Source: Shigley's Mechanical Engineering Design: (n + 2) d.

    Wire of 0.037 in with 10.5 active coils, in inches. (Example 10-1 there has 0.4995 for this
    spring with its ends not ground: one wire more.)

    >>> round(solid_length(0.037 * 0.0254, 10.5) / 0.0254, 4)
    0.4625
    """
    positive("wire", wire)
    positive("coils", coils)
    return (coils + 2.0) * wire
