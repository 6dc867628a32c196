"""Springs and ride."""

from __future__ import annotations

from buildlint.known import known
from buildlint.physics import ride, spring
from buildlint.plans import moves


@moves(up="rate_given mean_diameter coils", down="wire shear_modulus")
def rate_disagreement(
    rate_given: float, wire: float, mean_diameter: float, coils: float, shear_modulus: float
) -> float:
    """Spring rate given over that of the wire, less one."""
    return rate_given / known(spring.wire_rate(wire, mean_diameter, coils, shear_modulus)) - 1.0


@moves(up="spring_rate motion_ratio")
def wheel_rate(spring_rate: float, motion_ratio: float) -> float:
    """Spring rate at the wheel (N/m)."""
    return known(ride.wheel_rate(spring_rate, motion_ratio))


@moves(up="wheel_rate", down="corner_mass")
def ride_frequency(wheel_rate: float, corner_mass: float) -> float:
    """Undamped frequency of the corner on its spring (Hz)."""
    return known(ride.natural_frequency(wheel_rate, corner_mass))


@moves(up="damping motion_ratio", down="spring_rate corner_mass")
def damping_ratio(
    damping: float, spring_rate: float, corner_mass: float, motion_ratio: float
) -> float:
    """Damping over critical damping."""
    return known(ride.damping_ratio(damping, spring_rate, corner_mass, motion_ratio))


@moves(up="seat_gap", down="collar stroke solid_length")
def coil_gap(seat_gap: float, collar: float, stroke: float, solid_length: float) -> float:
    """What is left before the coils touch, fully in (m)."""
    return seat_gap - collar - stroke - solid_length


@moves(up="seat_gap", down="collar limiter free_length")
def spring_slack(seat_gap: float, collar: float, limiter: float, free_length: float) -> float:
    """Play of the spring between its seats, fully out (m)."""
    return seat_gap - collar - limiter - free_length


@moves(up="corner_mass seat_gap", down="spring_rate motion_ratio free_length collar limiter")
def sag(
    seat_gap: float,
    collar: float,
    limiter: float,
    free_length: float,
    spring_rate: float,
    motion_ratio: float,
    corner_mass: float,
) -> float:
    """Shaft travel that the car's weight takes up at rest (m)."""
    preload = free_length - (seat_gap - collar - limiter)
    return known(ride.sag(corner_mass, spring_rate, motion_ratio, preload))


@moves(up="sag")
def sag_share(sag: float, travel: float) -> float:
    """Sag over the stroke left."""
    return sag / travel
