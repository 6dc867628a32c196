"""Springs and ride."""

from __future__ import annotations

from buildlint.measures.marks import Array, refuses
from buildlint.physics import ride, spring


@refuses(
    lambda wire, mean_diameter: wire >= mean_diameter,
    "the spring's wire is not thinner than its coil",
)
def rate_disagreement(
    rate_given: Array, wire: Array, mean_diameter: Array, coils: Array, shear_modulus: Array
) -> Array:
    """Spring rate given over that of the wire, less one."""
    return rate_given / spring.wire_rate(wire, mean_diameter, coils, shear_modulus) - 1.0


def wheel_rate(spring_rate: Array, motion_ratio: Array) -> Array:
    """Spring rate at the wheel (N/m)."""
    return ride.wheel_rate(spring_rate, motion_ratio)


def ride_frequency(wheel_rate: Array, corner_mass: Array) -> Array:
    """Undamped frequency of the corner on its spring (Hz)."""
    return ride.natural_frequency(wheel_rate, corner_mass)


def damping_ratio(
    damping: Array, spring_rate: Array, corner_mass: Array, motion_ratio: Array
) -> Array:
    """Damping over critical damping."""
    return ride.damping_ratio(damping, spring_rate, corner_mass, motion_ratio)


def coil_gap(seat_gap: Array, collar: Array, stroke: Array, solid_length: Array) -> Array:
    """What is left before the coils touch, fully in (m)."""
    return seat_gap - collar - stroke - solid_length


def spring_slack(seat_gap: Array, collar: Array, limiter: Array, free_length: Array) -> Array:
    """Play of the spring between its seats, fully out (m)."""
    return seat_gap - collar - limiter - free_length


def sag(
    seat_gap: Array,
    collar: Array,
    limiter: Array,
    free_length: Array,
    spring_rate: Array,
    motion_ratio: Array,
    corner_mass: Array,
) -> Array:
    """Shaft travel that the car's weight takes up at rest (m)."""
    preload = free_length - (seat_gap - collar - limiter)
    return ride.sag(corner_mass, spring_rate, motion_ratio, preload)


def sag_share(sag: Array, travel: Array) -> Array:
    """Sag over the stroke left."""
    return sag / travel
