"""Springs and ride."""

from __future__ import annotations

from buildlint.measures.marks import refuses
from buildlint.physics import ride, spring
from buildlint.physics.values import Values


@refuses(
    lambda wire, mean_diameter: wire >= mean_diameter,
    "the spring's wire, {wire}, is not thinner than its mean diameter, {mean_diameter}",
)
def rate_disagreement(
    rate_given: Values, wire: Values, mean_diameter: Values, coils: Values, shear_modulus: Values
) -> Values:
    """Spring rate given over that of the wire, less one."""
    return rate_given / spring.wire_rate(wire, mean_diameter, coils, shear_modulus) - 1.0


def wheel_rate(spring_rate: Values, motion_ratio: Values) -> Values:
    """Spring rate at the wheel (N/m)."""
    return ride.wheel_rate(spring_rate, motion_ratio)


def ride_frequency(wheel_rate: Values, corner_mass: Values) -> Values:
    """Undamped frequency of the corner on its spring (Hz)."""
    return ride.natural_frequency(wheel_rate, corner_mass)


def damping_ratio(
    damping: Values, spring_rate: Values, corner_mass: Values, motion_ratio: Values
) -> Values:
    """Damping over critical damping."""
    return ride.damping_ratio(damping, spring_rate, corner_mass, motion_ratio)


def coil_gap(seat_gap: Values, collar: Values, stroke: Values, solid_length: Values) -> Values:
    """What is left before the coils touch, fully in (m)."""
    return seat_gap - collar - stroke - solid_length


def spring_slack(seat_gap: Values, collar: Values, limiter: Values, free_length: Values) -> Values:
    """Play of the spring between its seats, fully out (m)."""
    return seat_gap - collar - limiter - free_length


def sag(
    seat_gap: Values,
    collar: Values,
    limiter: Values,
    free_length: Values,
    spring_rate: Values,
    motion_ratio: Values,
    corner_mass: Values,
) -> Values:
    """Shaft travel that the car's weight takes up at rest (m)."""
    preload = free_length - (seat_gap - collar - limiter)
    return ride.sag(corner_mass, spring_rate, motion_ratio, preload)


def sag_share(sag: Values, travel: Values) -> Values:
    """Sag over the stroke left."""
    return sag / travel
