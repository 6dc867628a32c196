"""Oil and damping."""

from __future__ import annotations

import numpy as np

from buildlint.measures.marks import EMULSION, SEALED, Array, Holes, refuses
from buildlint.physics import flow
from buildlint.physics import oil as liquid


def viscosity_slope(
    viscosity_given: Array,
    viscosity_given_at: Array,
    slope_given: Array | None = None,
    second_viscosity: Array | None = None,
    second_viscosity_at: Array | None = None,
) -> Array:
    """How steeply the oil thins with heat: B (K)."""
    assert slope_given is not None
    assert second_viscosity is not None and second_viscosity_at is not None
    usual = np.where(np.isnan(slope_given), liquid.SILICONE_SLOPE, slope_given)
    # two close points whose tolerances cross: no thinning at the least
    crossed = (viscosity_given - second_viscosity) * (second_viscosity_at - viscosity_given_at) <= 0
    through = liquid.slope_from_two_points(
        viscosity_given, viscosity_given_at, second_viscosity, second_viscosity_at
    )
    two = ~(np.isnan(second_viscosity) | np.isnan(second_viscosity_at))
    return np.where(two, np.where(crossed, 0.0, through), usual)


@refuses(
    lambda viscosity: ~np.isfinite(viscosity) & ~np.isnan(viscosity),
    "no viscosity can be worked out at this temperature",
)
def viscosity(
    viscosity_given: Array, viscosity_given_at: Array, temperature: Array, viscosity_slope: Array
) -> Array:
    """Kinematic viscosity of the oil at the condition (m^2/s)."""
    return liquid.viscosity_at(viscosity_given, viscosity_given_at, temperature, viscosity_slope)


def viscosity_drift(viscosity_slope: Array, temperature: Array, bench_temperature: Array) -> Array:
    """Viscosity at the condition over that at the bench, less one."""
    return liquid.viscosity_at(1.0, bench_temperature, temperature, viscosity_slope) - 1.0


def blend_disagreement(
    viscosity_given: Array, viscosity_given_at: Array, blend_viscosity: Array, blend_slope: Array
) -> Array:
    """Viscosity stated for a blend over that worked out from its parts, less one."""
    worked_out = liquid.viscosity_at(
        blend_viscosity, liquid.REFERENCE_TEMPERATURE, viscosity_given_at, blend_slope
    )
    return viscosity_given / worked_out - 1.0


def dynamic_viscosity(
    viscosity: Array, density: Array, temperature: Array, expansion: Array
) -> Array:
    """Dynamic viscosity of the oil at the condition (Pa s)."""
    return liquid.dynamic(viscosity, liquid.density_at(density, temperature, expansion))


@refuses(
    lambda bore, shaft_diameter: shaft_diameter >= bore, "the shaft is not thinner than the bore"
)
def damping(
    bore: Array,
    shaft_diameter: Array,
    holes: Holes,
    piston_thickness: Array,
    dynamic_viscosity: Array,
    taper_to: Array | None = None,
) -> Array:
    """Damping at low speed, force over speed (N s/m)."""
    return flow.damping(bore, shaft_diameter, holes, piston_thickness, dynamic_viscosity, taper_to)


def flow_pressure(
    cap: Array,
    style: Array,
    pressure: Array,
    bench_pressure: Array,
    temperature: Array,
    bench_temperature: Array,
) -> Array:
    """Pressure behind the piston at rest (Pa): outside air, or under a sealed cap its own."""
    closed = (cap == SEALED) | (style == EMULSION)
    return np.where(closed, bench_pressure * temperature / bench_temperature, pressure)


def oil_density(density: Array, temperature: Array, expansion: Array) -> Array:
    """Density of the oil at the condition (kg/m^3)."""
    return liquid.density_at(density, temperature, expansion)


@refuses(
    lambda bore, shaft_diameter: shaft_diameter >= bore, "the shaft is not thinner than the bore"
)
def pack_speed(
    bore: Array,
    shaft_diameter: Array,
    holes: Holes,
    piston_thickness: Array,
    dynamic_viscosity: Array,
    oil_density: Array,
    taper_to: Array | None = None,
) -> Array:
    """Shaft speed at which the kinetic loss equals the viscous one (m/s)."""
    return flow.pack_speed(
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
    )


@refuses(
    lambda bore, shaft_diameter: shaft_diameter >= bore, "the shaft is not thinner than the bore"
)
def cavitation_speed(
    flow_pressure: Array,
    bore: Array,
    shaft_diameter: Array,
    holes: Holes,
    piston_thickness: Array,
    dynamic_viscosity: Array,
    oil_density: Array,
    taper_to: Array | None = None,
) -> Array:
    """Shaft speed going in at which the space behind the piston is drawn down to nothing (m/s)."""
    return flow.cavitation_speed(
        flow_pressure,
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
    )
