"""What the shaft, warm oil and air ask of a bladder, and of the air of an emulsion."""

from __future__ import annotations

import numpy as np

from buildlint.measures.marks import SEALED, at_every_condition, refuses
from buildlint.physics import displacement as shape
from buildlint.physics import gas
from buildlint.physics.values import Values


def stroke_left(stroke: Values, limiter: Values) -> Values:
    """What the limiter leaves of the stroke (m)."""
    return stroke - limiter


@refuses(lambda stroke_left: stroke_left <= 0.0, "the limiter leaves no stroke")
def travel(stroke_left: Values) -> Values:
    """The stroke left, where there is any (m)."""
    return np.where(stroke_left > 0.0, stroke_left, np.nan)


def displacement(shaft_diameter: Values, travel: Values) -> Values:
    """What the shaft displaces over its stroke (m^3)."""
    return shape.shaft_volume(shaft_diameter, travel)


def hold_back_share(hold_back: Values, travel: Values) -> Values:
    """Hold-back over the stroke left."""
    return hold_back / travel


def room_into_body(bladder_into_body: Values) -> Values:
    """What the bladder can follow into the body (m^3)."""
    return bladder_into_body


def room_into_cap(
    bladder_into_cap: Values, cap: Values, gas_volume: Values | None = None
) -> Values:
    """What the bladder can make way into the cap (m^3): under a sealed cap no more than its gas."""
    assert gas_volume is not None
    limited = (cap == SEALED) & (gas_volume < bladder_into_cap)
    return np.where(limited, gas_volume, bladder_into_cap)


def into_cap_need(
    shaft_diameter: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Room that the bladder needs into the cap, fully in (m^3)."""
    return shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change)


def into_body_need(
    shaft_diameter: Values, travel: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Room that the bladder needs into the body, fully out (m^3)."""
    return shape.swing_into_body(shaft_diameter, travel, hold_back, growth, air_change)


def into_cap_use(into_cap_need: Values, room_into_cap: Values) -> Values:
    """Need into the cap over room."""
    return _use(into_cap_need, room_into_cap)


def into_body_use(into_body_need: Values, room_into_body: Values) -> Values:
    """Need into the body over room."""
    return _use(into_body_need, room_into_body)


def _use(need: Values, room: Values) -> Values:
    # where there is no room, any need is too much, and none is met
    without = np.where(need > 0.0, np.inf, np.where(np.isnan(need), np.nan, 0.0))
    return np.where(room > 0.0, need / room, np.where(np.isnan(room), np.nan, without))


@refuses(
    lambda bore, shaft_diameter: shaft_diameter >= bore,
    "the shaft, {shaft_diameter}, is not thinner than the bore, {bore}",
)
def void_stroke(
    bore: Values, shaft_diameter: Values, room_into_cap: Values, into_cap_need: Values
) -> Values:
    """How far the shaft moves slack on the way back once the oil has cavitated, at most (m)."""
    needed = np.maximum(into_cap_need, 0.0)
    return shape.void_stroke(bore, shaft_diameter, room_into_cap, needed)


@at_every_condition
def smallest_hold_back(
    shaft_diameter: Values,
    travel: Values,
    room_into_body: Values,
    growth: Values,
    air_change: Values,
) -> Values:
    """Least hold-back that lets the bladder follow the shaft out, at every condition (m)."""
    here = shape.smallest_hold_back(shaft_diameter, travel, room_into_body, growth, air_change)
    return _worst(here, np.fmax)


@at_every_condition
def largest_hold_back(
    shaft_diameter: Values, room_into_cap: Values, growth: Values, air_change: Values
) -> Values:
    """Most hold-back that leaves the bladder room in the cap, at every condition (m)."""
    here = shape.largest_hold_back(shaft_diameter, room_into_cap, growth, air_change)
    return _worst(here, np.fmin)


def _worst(figure: Values, worse: np.ufunc) -> Values:
    """Return the worst over the axis of conditions, of those that are known."""
    found: Values = worse.reduce(np.asarray(figure), axis=1, keepdims=True)
    return found


def hold_back_window(smallest_hold_back: Values, largest_hold_back: Values) -> Values:
    """Largest less smallest hold-back (m); below zero, none works with these parts."""
    return largest_hold_back - smallest_hold_back


def cap_pressure(
    bench_pressure: Values,
    gas_volume: Values,
    into_cap_need: Values,
    bench_temperature: Values,
    temperature: Values,
) -> Values:
    """Absolute pressure over the bladder under a sealed cap, fully in and slowly (Pa)."""
    taken = np.maximum(into_cap_need, 0.0)
    return gas.sealed_pressure(bench_pressure, gas_volume, taken, bench_temperature, temperature)


# --- where the bladder rests --------------------------------------------------------------------


def neutral_point(rebound: Values, travel: Values, hold_back: Values) -> Values:
    """Where the bladder rests, from fully in: the rebound proves it, friction may hide some (m)."""
    return shape.neutral_point(rebound, travel, hold_back)


def sealed_in(shaft_diameter: Values, rebound: Values, travel: Values, hold_back: Values) -> Values:
    """Oil sealed in beyond what the hold-back says (m^3); below nothing: drag, a leak, or air."""
    return shape.sealed_in(shaft_diameter, rebound, travel, hold_back)


def rebound_use(
    shaft_diameter: Values,
    neutral_point: Values,
    growth: Values,
    air_change: Values,
    room_into_cap: Values,
) -> Values:
    """Use of the room into the cap, fully in, from where the rebound says that it rests."""
    need = shape.swing_into_cap(shaft_diameter, neutral_point, growth, air_change)
    return _use(need, room_into_cap)


# --- on the way to the event ---------------------------------------------------------------------


def after_flight_use(
    shaft_diameter: Values,
    hold_back: Values,
    growth: Values,
    air_change: Values,
    room_into_cap: Values,
    oil_volume: Values,
    bench_pressure: Values,
    pressure: Values,
    cap: Values,
    temperature: Values,
    bench_temperature: Values,
) -> Values:
    """Use of the room into the cap if all the air that a flight can free stays out of the oil.

    The air is freed at the pressure of the highest cabin, as warm as at the bench, and takes its
    room at the event; a sealed cap keeps the bench's pressure while its seal holds.
    """
    cabin = gas.standard_pressure(gas.CABIN_ALTITUDE)
    freed = gas.freed_air(oil_volume, bench_pressure, cabin)
    outside = np.where(cap == SEALED, bench_pressure, pressure)
    freed_there = freed * cabin / outside * temperature / bench_temperature
    need = shape.swing_into_cap(shaft_diameter, hold_back, growth, air_change + freed_there)
    return _use(need, room_into_cap)


def road_use(
    shaft_diameter: Values,
    hold_back: Values,
    air: Values,
    cap: Values,
    bench_altitude: Values,
    highest: Values,
    room_into_cap: Values,
) -> Values:
    """Use of the room into the cap at the highest place on the road, as warm as at the bench."""
    before = gas.standard_pressure(bench_altitude)
    there = np.where(cap == SEALED, before, gas.standard_pressure(highest))
    change = gas.air_change(air, _ANY_TEMPERATURE, before, _ANY_TEMPERATURE, there)
    return _use(shape.swing_into_cap(shaft_diameter, hold_back, 0.0, change), room_into_cap)


# Where the temperature stays what it was, any will do.
_ANY_TEMPERATURE = 293.15


# --- emulsion ------------------------------------------------------------------------------------


def emulsion_need(
    shaft_diameter: Values, travel: Values, growth: Values, hold_back: Values | None = None
) -> Values:
    """What shaft and heat ask of the air left in, fully in (m^3); sealed fully out if unsaid."""
    assert hold_back is not None
    held = np.where(np.isnan(hold_back), travel, hold_back)
    return shape.swing_into_cap(shaft_diameter, held, growth, 0.0)


def emulsion_use(emulsion_need: Values, air: Values) -> Values:
    """What is asked of the air left in, over that air."""
    return _use(emulsion_need, air)
