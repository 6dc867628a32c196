"""Work out the physics of a damper, in SI units and on plain floats.

Open, and how it is read here: the one-point law of viscosity has B = 1757 K; an aircraft's cabin is
at 8,000 ft of the standard atmosphere, and what it frees is taken on to the event's air; the gas
under a sealed cap is squeezed slowly (n = 1); an altitude is above the sea, not geopotential; a
chamfer takes its length off a tapered hole as off a straight one; holes of different sizes have one
jet speed wherever the force grows with the square of the speed.
"""

import math
from collections.abc import Sequence

GRAVITY = 9.80665
SEA_LEVEL = 101325.0
EARTH = 6356766.0
LAPSE = 0.0065
EXPONENT = GRAVITY * 0.0289644 / (8.31432 * LAPSE)  # 5.25588
CABIN = 2438.4  # 8,000 ft
OSTWALD = 0.19  # air in silicone oil, an upper bound, from memory
ALUMINIUM = 23.6e-6
KINETIC_LOSS = 1.5
ONE_POINT = 1757.0
AT_25 = 298.15

Hole = tuple[float, float, float]  # how many, the size at either face


def disc(diameter: float) -> float:
    """Give the area of a circle."""
    return math.pi * diameter**2 / 4


def air_pressure(altitude: float) -> float:
    """Follow the US Standard Atmosphere 1976 (ISO 2533 the same), up to 11 km above the sea."""
    geopotential = EARTH * altitude / (EARTH + altitude)
    return float(SEA_LEVEL * (1 - LAPSE * geopotential / 288.15) ** EXPONENT)


def growth(oil: float, expansion: float, warmer: float) -> float:
    """Let the oil grow with heat, less what the aluminium body grows by (6061, NIST)."""
    return oil * (expansion - 3 * ALUMINIUM) * warmer


def air_growth(air: float, t0: float, p0: float, t: float, p: float) -> float:
    """Let trapped air grow by the law of Boyle and of Gay-Lussac."""
    return air * (t / t0 * p0 / p - 1)


def freed_air(oil: float, p0: float, p: float) -> float:
    """Bound what a drop in pressure can free of the dissolved air (Henry, Ostwald)."""
    return max(0.0, oil * OSTWALD * (p0 - p) / p)


def squeezed(p0: float, gas: float, taken: float, t0: float, t: float) -> float:
    """Give the pressure of the gas when part of its room is taken, at rest."""
    return math.inf if taken >= gas else p0 * gas / (gas - taken) * t / t0


def slope_of_points(nu1: float, t1: float, nu2: float, t2: float) -> float:
    """Give B of ln nu = a + B/T through two points."""
    return math.log(nu1 / nu2) / (1 / t1 - 1 / t2)


def slope_of_vtc(vtc: float) -> float:
    """Give B from 1 - nu(210 degF)/nu(100 degF), the viscosity-temperature coefficient."""
    t100, t210 = (100 + 459.67) / 1.8, (210 + 459.67) / 1.8
    return -math.log(1 - vtc) / (1 / t100 - 1 / t210)


def viscosity_at(nu: float, t_ref: float, slope: float, t: float) -> float:
    """Bring a kinematic viscosity from one temperature to another."""
    return nu * math.exp(slope * (1 / t - 1 / t_ref))


def mixed(parts: Sequence[tuple[float, float]]) -> float:
    """Mix (share, viscosity) logarithmically: Arrhenius 1887."""
    return math.exp(sum(share * math.log(nu) for share, nu in parts))


def blend_tolerance(viscosities: Sequence[float]) -> float:
    """Say how far a blend may be off the mixing law: ours, at least 2 %."""
    return float(max(0.02, 0.1 * math.log(max(viscosities) / min(viscosities)) ** 2))


def density_at(rho25: float, expansion: float, t: float) -> float:
    """Thin the oil by its cubic expansion."""
    return rho25 / (1 + expansion * (t - AT_25))


def hole_resistance(hole: Hole, length: float, chamfer: float = 0.0) -> float:
    """Give (length and ends)/d^4 of one hole: Hagen-Poiseuille and Sampson, half at each face.

    The taper is the integral of dx/d^4 along a cone.
    """
    _, d1, d2 = hole
    length -= 2 * 0.85 * chamfer
    if abs(d1 - d2) < 1e-9 * d1:
        along = length / d1**4
    else:
        along = length * (1 / d2**3 - 1 / d1**3) / (3 * (d1 - d2))
    return along + 3 * math.pi / 32 * (1 / d1**3 + 1 / d2**3)


def low_speed_damping(
    ring: float, holes: Sequence[Hole], length: float, mu: float, chamfer: float = 0.0
) -> float:
    """Give force over speed where no kinetic loss counts; all holes share the pressure."""
    lets = sum(
        hole[0] * math.pi / (128 * mu * hole_resistance(hole, length, chamfer)) for hole in holes
    )
    return ring**2 / lets


def kinetic_damping(ring: float, holes: Sequence[Hole], rho: float) -> float:
    """Give force over speed squared: one jet speed through all holes, at the narrow face."""
    area = sum(count * disc(min(d1, d2)) for count, d1, d2 in holes)
    return ring**3 * KINETIC_LOSS * rho / (2 * area**2)


def speed_of_force(c: float, q: float, force: float) -> float:
    """Solve c v + q v^2 = force."""
    return 2 * force / (c + math.sqrt(c * c + 4 * q * force))


def wire_rate(shear: float, wire: float, mean_diameter: float, coils: float) -> float:
    """Follow Shigley's Mechanical Engineering Design: k = G d^4/(8 D^3 n)."""
    return shear * wire**4 / (8 * mean_diameter**3 * coils)


def cap_of_sphere(radius: float, depth: float) -> float:
    """Give the volume of a spherical cap."""
    return math.pi * depth * (3 * radius**2 + depth**2) / 6
