"""How measures are worked out: small functions of plain floats, named after what they give.

Their parameters are named after readings of a `Damper`, or after other functions here;
`temperature` and `altitude` are those of the condition (bench, cold, hot). All is SI. A parameter
with a default may be missing. What each is called and what unit it is shown in: `measures`.

`moves` says which way a figure goes when a parameter rises, wherever it goes that way for every
reading that a file can hold. What is not named there may go either way, depending on the others.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import inf
from typing import Any

from buildlint.physics import displacement as shape
from buildlint.physics import flow, gas, ride, spring
from buildlint.physics import oil as liquid
from buildlint.plans import moves, since_bench
from buildlint.steps import missing_steps

__all__ = ["FUNCTIONS"]

Holes = tuple[tuple[int, float], ...]

# --- oil and air between the bench and the event -------------------------------------------------


@since_bench
@moves(up="temperature", down="bench_temperature", away="oil_volume expansion")
def growth(
    oil_volume: float, expansion: float, temperature: float, bench_temperature: float
) -> float:
    """Growth of the oil since the bench, net of the metal body (m^3)."""
    return liquid.growth(oil_volume, temperature - bench_temperature, expansion)


@moves(down="altitude")
def pressure(altitude: float) -> float:
    """Outside air at the condition (Pa)."""
    return gas.standard_pressure(altitude)


@moves(down="bench_altitude")
def bench_pressure(bench_altitude: float) -> float:
    """Outside air at the bench (Pa)."""
    return gas.standard_pressure(bench_altitude)


@since_bench
@moves(up="temperature bench_pressure", down="bench_temperature pressure", away="air")
def air_change(
    air: float,
    cap: str,
    temperature: float,
    bench_temperature: float,
    pressure: float,
    bench_pressure: float,
) -> float:
    """Growth of the air left in the oil since the bench (m^3); a sealed cap keeps its pressure."""
    if cap == "sealed":
        pressure = bench_pressure
    return gas.air_change(air, bench_temperature, bench_pressure, temperature, pressure)


# --- the bladder ---------------------------------------------------------------------------------


@moves(up="stroke", down="limiter")
def stroke_left(stroke: float, limiter: float) -> float:
    """What the limiter leaves of the stroke (m)."""
    return stroke - limiter


@moves(up="stroke_left")
def travel(stroke_left: float) -> float:
    """The stroke left, where there is any (m)."""
    if stroke_left <= 0:
        raise ValueError("the limiter leaves no stroke")
    return stroke_left


@moves(up="shaft_diameter travel")
def displacement(shaft_diameter: float, travel: float) -> float:
    """What the shaft displaces over its stroke (m^3)."""
    return shape.shaft_volume(shaft_diameter, travel)


@moves(up="hold_back", down="travel")
def hold_back_share(hold_back: float, travel: float) -> float:
    """Hold-back over the stroke left."""
    return hold_back / travel


@moves(up="bladder_into_body")
def room_into_body(bladder_into_body: float) -> float:
    """What the bladder can follow into the body (m^3)."""
    return bladder_into_body


@moves(up="bladder_into_cap gas_volume")
def room_into_cap(bladder_into_cap: float, cap: str, gas_volume: float | None = None) -> float:
    """What the bladder can make way into the cap (m^3): under a sealed cap no more than its gas."""
    if cap == "sealed" and gas_volume is not None:
        return min(bladder_into_cap, gas_volume)
    return bladder_into_cap


@moves(up="shaft_diameter hold_back growth air_change")
def into_cap_need(
    shaft_diameter: float, hold_back: float, growth: float, air_change: float
) -> float:
    """Room that the bladder needs into the cap, fully in (m^3)."""
    return shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change)


@moves(up="travel", down="hold_back growth air_change")
def into_body_need(
    shaft_diameter: float,
    travel: float,
    hold_back: float,
    growth: float,
    air_change: float,
) -> float:
    """Room that the bladder needs into the body, fully out (m^3)."""
    return shape.swing_into_body(shaft_diameter, travel, hold_back, growth, air_change)


@moves(up="into_cap_need", down="room_into_cap")
def into_cap_use(into_cap_need: float, room_into_cap: float) -> float:
    """Need into the cap over room."""
    return _use(into_cap_need, room_into_cap)


@moves(up="into_body_need", down="room_into_body")
def into_body_use(into_body_need: float, room_into_body: float) -> float:
    """Need into the body over room."""
    return _use(into_body_need, room_into_body)


def _use(need: float, room: float) -> float:
    # below nothing it is told as nothing; here it goes on, so that it can be told what moves it
    if room > 0:
        return need / room
    return inf if need > 0 else 0.0


@moves(
    up="coldest hottest event_altitude",
    down="bench_temperature bench_altitude",
    each="oil_volume expansion air",
)
def changes(
    oil_volume: float,
    expansion: float,
    air: float,
    cap: str,
    bench_temperature: float,
    bench_altitude: float,
    coldest: float | None = None,
    hottest: float | None = None,
    event_altitude: float | None = None,
) -> tuple[tuple[float, float], ...]:
    """Growth of oil and of air (m^3) at each condition that the build has."""
    found = [(0.0, 0.0)]  # at the bench
    if event_altitude is not None:
        before, there = bench_pressure(bench_altitude), pressure(event_altitude)
        found += [
            (
                growth(oil_volume, expansion, t, bench_temperature),
                air_change(air, cap, t, bench_temperature, there, before),
            )
            for t in (coldest, hottest)
            if t is not None
        ]
    return tuple(found)


@moves(up="travel", down="room_into_body changes")
def smallest_hold_back(
    shaft_diameter: float,
    travel: float,
    room_into_body: float,
    changes: tuple[tuple[float, float], ...],
) -> float:
    """Least hold-back that lets the bladder follow the shaft out, at every condition (m)."""
    return max(
        shape.smallest_hold_back(shaft_diameter, travel, room_into_body, oil, air)
        for oil, air in changes
    )


@moves(up="room_into_cap", down="changes")
def largest_hold_back(
    shaft_diameter: float, room_into_cap: float, changes: tuple[tuple[float, float], ...]
) -> float:
    """Most hold-back that leaves the bladder room in the cap, at every condition (m)."""
    return min(
        shape.largest_hold_back(shaft_diameter, room_into_cap, oil, air) for oil, air in changes
    )


@moves(up="largest_hold_back", down="smallest_hold_back")
def hold_back_window(smallest_hold_back: float, largest_hold_back: float) -> float:
    """Largest less smallest hold-back (m); below zero, none works with these parts."""
    return largest_hold_back - smallest_hold_back


@moves(up="bench_pressure into_cap_need temperature", down="gas_volume bench_temperature")
def cap_pressure(
    bench_pressure: float,
    gas_volume: float,
    into_cap_need: float,
    bench_temperature: float,
    temperature: float,
) -> float:
    """Absolute pressure over the bladder under a sealed cap, fully in and slowly (Pa)."""
    taken = max(0.0, into_cap_need)
    return gas.sealed_pressure(bench_pressure, gas_volume, taken, bench_temperature, temperature)


# --- oil and damping -----------------------------------------------------------------------------


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
        return liquid.slope_from_two_points(
            viscosity_given, viscosity_given_at, second_viscosity, second_viscosity_at
        )
    return slope_given if slope_given is not None else liquid.SILICONE_SLOPE


@moves(up="viscosity_given viscosity_given_at", down="temperature")
def viscosity(
    viscosity_given: float, viscosity_given_at: float, temperature: float, viscosity_slope: float
) -> float:
    """Kinematic viscosity of the oil at the condition (m^2/s)."""
    return liquid.viscosity_at(viscosity_given, viscosity_given_at, temperature, viscosity_slope)


@moves(up="bench_temperature", down="temperature")
def viscosity_drift(viscosity_slope: float, temperature: float, bench_temperature: float) -> float:
    """Viscosity at the condition over that at the bench, less one."""
    return liquid.viscosity_at(1.0, bench_temperature, temperature, viscosity_slope) - 1.0


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
    return viscosity_given / worked_out - 1.0


@moves(up="viscosity density", down="temperature")
def dynamic_viscosity(
    viscosity: float, density: float, temperature: float, expansion: float
) -> float:
    """Dynamic viscosity of the oil at the condition (Pa s)."""
    return liquid.dynamic(viscosity, liquid.density_at(density, temperature, expansion))


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
    return flow.damping(bore, shaft_diameter, holes, piston_thickness, dynamic_viscosity, taper_to)


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
    return liquid.density_at(density, temperature, expansion)


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
    return flow.pack_speed(
        bore,
        shaft_diameter,
        holes,
        piston_thickness,
        dynamic_viscosity,
        oil_density,
        taper_to=taper_to,
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


# --- springs and ride ----------------------------------------------------------------------------


@moves(up="rate_given mean_diameter coils", down="wire shear_modulus")
def rate_disagreement(
    rate_given: float, wire: float, mean_diameter: float, coils: float, shear_modulus: float
) -> float:
    """Spring rate given over that of the wire, less one."""
    return rate_given / spring.wire_rate(wire, mean_diameter, coils, shear_modulus) - 1.0


@moves(up="spring_rate motion_ratio")
def wheel_rate(spring_rate: float, motion_ratio: float) -> float:
    """Spring rate at the wheel (N/m)."""
    return ride.wheel_rate(spring_rate, motion_ratio)


@moves(up="wheel_rate", down="corner_mass")
def ride_frequency(wheel_rate: float, corner_mass: float) -> float:
    """Undamped frequency of the corner on its spring (Hz)."""
    return ride.natural_frequency(wheel_rate, corner_mass)


@moves(up="damping motion_ratio", down="spring_rate corner_mass")
def damping_ratio(
    damping: float, spring_rate: float, corner_mass: float, motion_ratio: float
) -> float:
    """Damping over critical damping."""
    return ride.damping_ratio(damping, spring_rate, corner_mass, motion_ratio)


@moves(up="seat_gap", down="collar stroke solid_length")
def coil_gap(seat_gap: float, collar: float, stroke: float, solid_length: float) -> float:
    """What is left before the coils touch, fully in (m)."""
    return seat_gap - collar - stroke - solid_length


@moves(up="seat_gap", down="collar limiter free_length")
def spring_slack(seat_gap: float, collar: float, limiter: float, free_length: float) -> float:
    """Play of the spring between its seats, fully out (m)."""
    return seat_gap - collar - limiter - free_length


# --- the way to the event ------------------------------------------------------------------------


@moves(
    up="shaft_diameter hold_back growth air_change oil_volume temperature",
    down="room_into_cap pressure bench_temperature",
)
def after_flight_use(
    shaft_diameter: float,
    hold_back: float,
    growth: float,
    air_change: float,
    room_into_cap: float,
    oil_volume: float,
    bench_pressure: float,
    pressure: float,
    cap: str,
    temperature: float,
    bench_temperature: float,
) -> float:
    """Use of the room into the cap if all the air that a flight can free stays out of the oil.

    The air is freed at the pressure of the highest cabin, as warm as at the bench, and takes its
    room at the event; a sealed cap keeps the bench's pressure while its seal holds.
    """
    cabin = gas.standard_pressure(gas.CABIN_ALTITUDE)
    freed = gas.freed_air(oil_volume, bench_pressure, cabin)
    outside = bench_pressure if cap == "sealed" else pressure
    freed_there = freed * cabin / outside * temperature / bench_temperature
    need = shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change + freed_there)
    return _use(need, room_into_cap)


@moves(up="shaft_diameter hold_back highest", down="bench_altitude room_into_cap")
def road_use(
    shaft_diameter: float,
    hold_back: float,
    air: float,
    cap: str,
    bench_altitude: float,
    highest: float,
    room_into_cap: float,
) -> float:
    """Use of the room into the cap at the highest place on the road, as warm as at the bench."""
    before = gas.standard_pressure(bench_altitude)
    there = before if cap == "sealed" else gas.standard_pressure(highest)
    change = gas.air_change(air, _ANY_TEMPERATURE, before, _ANY_TEMPERATURE, there)
    return _use(shape.swing_into_cap(shaft_diameter, hold_back, 0.0, change), room_into_cap)


# Where the temperature stays what it was, any will do.
_ANY_TEMPERATURE = 293.15


# --- emulsion ------------------------------------------------------------------------------------


@moves(up="shaft_diameter travel growth hold_back")
def emulsion_need(
    shaft_diameter: float, travel: float, growth: float, hold_back: float | None = None
) -> float:
    """What shaft and heat ask of the air poured in, fully in (m^3); sealed fully out if unsaid."""
    held = hold_back if hold_back is not None else travel
    return shape.swing_into_cap(shaft_diameter, held, growth, 0.0)


@moves(up="emulsion_need", down="air")
def emulsion_use(emulsion_need: float, air: float) -> float:
    """What is asked of the air poured in, over that air."""
    return _use(emulsion_need, air)


# --- how the parts fit, and the record -----------------------------------------------------------


@moves(up="bore", down="piston_diameter")
def piston_clearance(bore: float, piston_diameter: float) -> float:
    """Bore less the piston's diameter (m)."""
    return bore - piston_diameter


@moves(up="bore", down="shaft_diameter")
def shaft_room(bore: float, shaft_diameter: float) -> float:
    """Bore less the shaft's diameter (m)."""
    return bore - shaft_diameter


@moves(up="largest_piston", down="piston_diameter")
def piston_to_spare(largest_piston: float, piston_diameter: float) -> float:
    """Largest piston that the body takes, less the piston's diameter (m)."""
    return largest_piston - piston_diameter


def steps_missing(done: tuple[str, ...], style: str) -> float:
    """How many of the bench steps are not listed as done; an emulsion is not bled."""
    return float(len(missing_steps(done, style)))


def rebound_read(rebound: float | None = None) -> bool:
    """Whether the rebound was read."""
    return rebound is not None


def label_disagreements(
    label: str,
    oil: str,
    piston: str,
    hold_back: float | None = None,
    style: str = "bladder",
    air: float | None = None,
    end: str = "",
    side: str = "",
) -> tuple[str, ...]:
    """In words, how the label on the cap disagrees with what is inside; nothing if it agrees."""
    if _only_names_both(label, oil, piston):
        return ()
    poured = air if style == "emulsion" else None
    return _read_label(label, oil, piston, hold_back, poured, end, side)


@lru_cache(maxsize=4096)
def _only_names_both(label: str, oil: str, piston: str) -> bool:
    from buildlint.label_words import only_names_both

    return only_names_both(label, oil, piston)


@lru_cache(maxsize=4096)
def _read_label(
    label: str,
    oil: str,
    piston: str,
    hold_back: float | None,
    air: float | None,
    end: str,
    side: str,
) -> tuple[str, ...]:
    # only builds with labels need it, and the same label is read for each of its rules
    from buildlint.cap_label import label_disagreements

    return label_disagreements(label, oil, piston, hold_back, air=air, end=end, side=side)


def label_agrees(label_disagreements: tuple[str, ...]) -> bool:
    """Whether the label on the cap agrees with what is inside."""
    return not label_disagreements


@moves(up="event_on", down="bench_on")
def days_before_event(bench_on: float, event_on: float) -> float:
    """Days from the bench to the event (s)."""
    return (event_on - bench_on) * 86400.0


def parts(
    body: str | None = None,
    shaft: str | None = None,
    piston: str | None = None,
    bladder: str | None = None,
    oil: str | None = None,
    spring: str | None = None,
) -> tuple[tuple[str, str | None], ...]:
    """What the damper is made of: kind and id of each part."""
    return (
        ("body", body),
        ("shaft", shaft),
        ("piston", piston),
        ("bladder", bladder),
        ("oil", oil),
        ("spring", spring),
    )


#: Every function here by its name, for plans.
FUNCTIONS: dict[str, Callable[..., Any]] = {
    name: thing
    for name, thing in list(globals().items())
    if getattr(thing, "__module__", None) == __name__
    and hasattr(thing, "__code__")
    and not name.startswith("_")
}
