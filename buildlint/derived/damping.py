"""Oil and damping."""

from __future__ import annotations

from buildlint.known import known
from buildlint.physics import flow
from buildlint.physics import oil as liquid
from buildlint.plans import moves

Holes = tuple[tuple[int, float], ...]


@moves(up="slope_given")
def viscosity_slope(
    viscosity_given: float,
    viscosity_given_at: float,
    slope_given: float | None = None,
    second_viscosity: float | None = None,
    second_viscosity_at: float | None = None,
) -> float:
    """How steeply the oil thins with heat: B (K)."""
    if second_viscosity is not None and second_viscosity_at is not None:
        if (viscosity_given - second_viscosity) * (second_viscosity_at - viscosity_given_at) <= 0:
            return 0.0  # two close points whose tolerances cross: no thinning at the least
        return known(
            liquid.slope_from_two_points(
                viscosity_given, viscosity_given_at, second_viscosity, second_viscosity_at
            )
        )
    return slope_given if slope_given is not None else liquid.SILICONE_SLOPE


@moves(up="viscosity_given viscosity_given_at", down="temperature")
def viscosity(
    viscosity_given: float, viscosity_given_at: float, temperature: float, viscosity_slope: float
) -> float:
    """Kinematic viscosity of the oil at the condition (m^2/s)."""
    return known(
        liquid.viscosity_at(viscosity_given, viscosity_given_at, temperature, viscosity_slope)
    )


@moves(up="bench_temperature", down="temperature")
def viscosity_drift(viscosity_slope: float, temperature: float, bench_temperature: float) -> float:
    """Viscosity at the condition over that at the bench, less one."""
    return known(liquid.viscosity_at(1.0, bench_temperature, temperature, viscosity_slope)) - 1.0


@moves(up="viscosity_given", down="blend_viscosity")
def blend_disagreement(
    viscosity_given: float,
    viscosity_given_at: float,
    blend_viscosity: float,
    blend_slope: float,
) -> float:
    """Viscosity stated for a blend over that worked out from its parts, less one."""
    worked_out = liquid.viscosity_at(
        blend_viscosity, liquid.REFERENCE_TEMPERATURE, viscosity_given_at, blend_slope
    )
    return viscosity_given / known(worked_out) - 1.0


@moves(up="viscosity density", down="temperature")
def dynamic_viscosity(
    viscosity: float, density: float, temperature: float, expansion: float
) -> float:
    """Dynamic viscosity of the oil at the condition (Pa s)."""
    return known(liquid.dynamic(viscosity, liquid.density_at(density, temperature, expansion)))


@moves(up="bore piston_thickness dynamic_viscosity", down="shaft_diameter holes taper_to")
def damping(
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    piston_thickness: float,
    dynamic_viscosity: float,
    taper_to: float | None = None,
) -> float:
    """Damping at low speed, force over speed (N s/m)."""
    return known(
        flow.damping(bore, shaft_diameter, holes, piston_thickness, dynamic_viscosity, taper_to),
        _why_none(bore, shaft_diameter),
    )


@moves(up="pressure bench_pressure temperature", down="bench_temperature")
def flow_pressure(
    cap: str,
    style: str,
    pressure: float,
    bench_pressure: float,
    temperature: float,
    bench_temperature: float,
) -> float:
    """Pressure behind the piston at rest (Pa): outside air, or under a sealed cap its own."""
    if cap == "sealed" or style == "emulsion":
        return bench_pressure * temperature / bench_temperature
    return pressure


@moves(up="density", down="temperature")
def oil_density(density: float, temperature: float, expansion: float) -> float:
    """Density of the oil at the condition (kg/m^3)."""
    return known(liquid.density_at(density, temperature, expansion))


@moves(up="piston_thickness dynamic_viscosity", down="oil_density")
def pack_speed(
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    piston_thickness: float,
    dynamic_viscosity: float,
    oil_density: float,
    taper_to: float | None = None,
) -> float:
    """Shaft speed at which the kinetic loss equals the viscous one (m/s)."""
    return known(
        flow.pack_speed(
            bore,
            shaft_diameter,
            holes,
            piston_thickness,
            dynamic_viscosity,
            oil_density,
            taper_to=taper_to,
        ),
        _why_none(bore, shaft_diameter),
    )


@moves(
    up="flow_pressure holes taper_to shaft_diameter",
    down="piston_thickness dynamic_viscosity oil_density bore",
)
def cavitation_speed(
    flow_pressure: float,
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    piston_thickness: float,
    dynamic_viscosity: float,
    oil_density: float,
    taper_to: float | None = None,
) -> float:
    """Shaft speed going in at which the space behind the piston is drawn down to nothing (m/s)."""
    return known(
        flow.cavitation_speed(
            flow_pressure,
            bore,
            shaft_diameter,
            holes,
            piston_thickness,
            dynamic_viscosity,
            oil_density,
            taper_to=taper_to,
        ),
        _why_none(bore, shaft_diameter),
    )


def _why_none(bore: float, shaft_diameter: float) -> str:
    """Return in words why nothing flows: most likely the shaft is too thick for its bore."""
    if shaft_diameter < bore:
        return "no figure can be worked out from them"
    shaft, hole = (f"{size * 1e3:g} mm" for size in (shaft_diameter, bore))
    return f"the shaft, {shaft}, must be thinner than the bore, {hole}"
