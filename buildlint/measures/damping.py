"""Oil and damping."""

from __future__ import annotations

import numpy as np

from buildlint.measures.marks import EMULSION, SEALED, Holes, at_every_condition, refuses
from buildlint.physics import flow
from buildlint.physics import oil as liquid
from buildlint.physics.holes import CHAMFER_SHARE
from buildlint.physics.values import Values

_too_thick = refuses(
    lambda bore, shaft_diameter: shaft_diameter >= bore,
    "the shaft, {shaft_diameter}, is not thinner than the bore, {bore}",
)

_no_length = refuses(
    lambda piston_thickness, chamfer: 2.0 * CHAMFER_SHARE * chamfer >= piston_thickness,
    "the broken edges, {chamfer}, leave nothing of the holes in {piston_thickness}",
)


def viscosity_slope(
    viscosity_given: Values,
    viscosity_given_at: Values,
    slope_given: Values | None = None,
    second_viscosity: Values | None = None,
    second_viscosity_at: Values | None = None,
) -> Values:
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
    lambda viscosity, viscosity_given, viscosity_given_at, temperature, viscosity_slope: (
        np.isnan(viscosity)
        & ~np.isnan(viscosity_given + viscosity_given_at + temperature + viscosity_slope)
    ),
    "no viscosity can be worked out at this temperature",
)
def viscosity(
    viscosity_given: Values,
    viscosity_given_at: Values,
    temperature: Values,
    viscosity_slope: Values,
) -> Values:
    """Kinematic viscosity of the oil at the condition (m^2/s)."""
    return liquid.viscosity_at(viscosity_given, viscosity_given_at, temperature, viscosity_slope)


def viscosity_spread(viscosity_slope: Values, coldest: Values, hottest: Values) -> Values:
    """Viscosity of the oil at its coldest over that at its hottest, less one."""
    return liquid.viscosity_at(1.0, hottest, coldest, viscosity_slope) - 1.0


def blend_disagreement(
    viscosity_given: Values,
    viscosity_given_at: Values,
    blend_viscosity: Values,
    blend_slope: Values,
) -> Values:
    """Viscosity stated for a blend over that worked out from its parts, less one."""
    worked_out = liquid.viscosity_at(
        blend_viscosity, liquid.REFERENCE_TEMPERATURE, viscosity_given_at, blend_slope
    )
    return viscosity_given / worked_out - 1.0


def dynamic_viscosity(
    viscosity: Values, density: Values, temperature: Values, expansion: Values
) -> Values:
    """Dynamic viscosity of the oil at the condition (Pa s)."""
    return liquid.dynamic(viscosity, liquid.density_at(density, temperature, expansion))


@_too_thick
@_no_length
def damping(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    piston_thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Damping at low speed, force over speed (N s/m)."""
    return flow.damping(
        bore, shaft_diameter, holes, piston_thickness, dynamic_viscosity, taper_to, chamfer
    )


@at_every_condition
def mean_damping(damping: Values) -> Values:
    """Geometric mean of the damping cold and hot (N s/m); with no event, the damping at the bench.

    Two events' spans alone can force a difference at one end, whatever the oil.
    """
    bench, cold, hot = (np.asarray(damping)[:, i : i + 1] for i in range(3))
    at_event = np.sqrt(cold * hot)
    return np.where(np.isnan(at_event), bench, at_event)


def flow_pressure(
    cap: Values,
    style: Values,
    pressure: Values,
    bench_pressure: Values,
    temperature: Values,
    bench_temperature: Values,
) -> Values:
    """Pressure behind the piston at rest (Pa): outside air, or under a sealed cap its own."""
    closed = (cap == SEALED) | (style == EMULSION)
    return np.where(closed, bench_pressure * temperature / bench_temperature, pressure)


def oil_density(density: Values, temperature: Values, expansion: Values) -> Values:
    """Density of the oil at the condition (kg/m^3)."""
    return liquid.density_at(density, temperature, expansion)


@_too_thick
@_no_length
def pack_speed(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    piston_thickness: Values,
    dynamic_viscosity: Values,
    oil_density: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Shaft speed at which the kinetic loss equals the viscous one (m/s)."""
    return flow.pack_speed(
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
        chamfer=chamfer,
    )


@_too_thick
@_no_length
def cavitation_speed(
    flow_pressure: Values,
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    piston_thickness: Values,
    dynamic_viscosity: Values,
    oil_density: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Shaft speed going in from which the space behind the piston can be drawn empty (m/s)."""
    return flow.cavitation_speed(
        flow_pressure,
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
        chamfer=chamfer,
    )


#: Shaft speed on a bump (m/s).
QUICK = 0.5


@_too_thick
@_no_length
def quick_force(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    piston_thickness: Values,
    dynamic_viscosity: Values,
    oil_density: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Damping force at a shaft speed of 0.5 m/s (N)."""
    return flow.force(
        QUICK,
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
        chamfer=chamfer,
    )
