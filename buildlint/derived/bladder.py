"""What the shaft, warm oil and air ask of a bladder, and of the air of an emulsion."""

from __future__ import annotations

from math import inf

from buildlint.derived.heat_and_air import air_change, bench_pressure, growth, pressure
from buildlint.known import known
from buildlint.physics import displacement as shape
from buildlint.physics import gas
from buildlint.plans import moves


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
    return known(shape.shaft_volume(shaft_diameter, travel))


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
    return known(shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change))


@moves(up="travel", down="hold_back growth air_change")
def into_body_need(
    shaft_diameter: float,
    travel: float,
    hold_back: float,
    growth: float,
    air_change: float,
) -> float:
    """Room that the bladder needs into the body, fully out (m^3)."""
    return known(shape.swing_into_body(shaft_diameter, travel, hold_back, growth, air_change))


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
        known(shape.smallest_hold_back(shaft_diameter, travel, room_into_body, oil, air))
        for oil, air in changes
    )


@moves(up="room_into_cap", down="changes")
def largest_hold_back(
    shaft_diameter: float, room_into_cap: float, changes: tuple[tuple[float, float], ...]
) -> float:
    """Most hold-back that leaves the bladder room in the cap, at every condition (m)."""
    return min(
        known(shape.largest_hold_back(shaft_diameter, room_into_cap, oil, air))
        for oil, air in changes
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
    return known(
        gas.sealed_pressure(bench_pressure, gas_volume, taken, bench_temperature, temperature)
    )


# --- on the way to the event ---------------------------------------------------------------------


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
    cabin = known(gas.standard_pressure(gas.CABIN_ALTITUDE))
    freed = known(gas.freed_air(oil_volume, bench_pressure, cabin))
    outside = bench_pressure if cap == "sealed" else pressure
    freed_there = freed * cabin / outside * temperature / bench_temperature
    need = shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change + freed_there)
    return _use(known(need), room_into_cap)


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
    need = known(shape.swing_into_cap(shaft_diameter, hold_back, 0.0, change))
    return _use(need, room_into_cap)


# Where the temperature stays what it was, any will do.
_ANY_TEMPERATURE = 293.15


# --- emulsion ------------------------------------------------------------------------------------


@moves(up="shaft_diameter travel growth hold_back")
def emulsion_need(
    shaft_diameter: float, travel: float, growth: float, hold_back: float | None = None
) -> float:
    """What shaft and heat ask of the air poured in, fully in (m^3); sealed fully out if unsaid."""
    held = hold_back if hold_back is not None else travel
    return known(shape.swing_into_cap(shaft_diameter, held, growth, 0.0))


@moves(up="emulsion_need", down="air")
def emulsion_use(emulsion_need: float, air: float) -> float:
    """What is asked of the air poured in, over that air."""
    return _use(emulsion_need, air)
