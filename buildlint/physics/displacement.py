"""Areas, the oil the shaft moves, hold-back and the room in a bladder.

Hold-back is the length of shaft still showing when the cap is sealed over a relaxed bladder,
counted from fully in. From there the shaft pushes the bladder into the cap as it goes in, and
draws it into the body as it comes out.
"""

import math

import numpy as np

from buildlint.physics.values import Values, finite, formula, not_negative, positive, within

CUP_SHARE = 0.8
"""Share of a bladder cup's volume taken as its room when nobody has measured it.

From memory, no source at hand: a default that a measurement replaces.
"""


@formula
def circle_area(diameter: Values) -> Values:
    """Return the area of a circle, m^2.

    `diameter` in m, above zero. Return nan outside that.
    Source: geometry.

    >>> round(circle_area(0.0035) * 1e6, 4)  # mm^2
    9.6211
    """
    return within(positive(diameter), math.pi / 4.0 * diameter * diameter)


@formula
def annulus_area(bore: Values, shaft_diameter: Values) -> Values:
    """Return the area between bore and shaft, m^2: what the piston sweeps on the shaft's side.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger. Return nan outside that.
    Source: geometry.

    At sea level this area carries at most 19.398 N of suction:

    >>> round(annulus_area(0.016, 0.0035) * 101325.0, 3)
    19.398
    """
    ok = positive(shaft_diameter, bore) & (shaft_diameter < bore)
    # The product keeps its digits when shaft and bore are close.
    return within(ok, math.pi / 4.0 * (bore - shaft_diameter) * (bore + shaft_diameter))


@formula
def shaft_volume(shaft_diameter: Values, travel: Values) -> Values:
    """Return the volume of oil that the shaft displaces over a travel, m^3.

    `shaft_diameter` in m, above zero; `travel` in m, into the body counted positive.
    Return nan for any other shaft diameter or a travel that is not finite.
    Source: geometry.

    >>> round(shaft_volume(0.0035, 0.030) * 1e9, 3)  # mm^3
    288.634
    """
    return within(finite(travel), circle_area(shaft_diameter) * travel)


@formula
def swing_into_cap(
    shaft_diameter: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Return how far the bladder is pushed into the cap, m^3, when the shaft is fully in; signed.

    Arguments as of `need_into_cap`. Below zero, the bladder stays on the body's side of its rest.
    Return nan for a shaft diameter that is not above zero or a number that is not finite.
    Source: derived: A_s h + g + da.

    >>> round(swing_into_cap(0.0035, 0.010, -100e-9, 0.0) * 1e9, 3)  # mm^3
    -3.789
    """
    pushed = shaft_volume(shaft_diameter, hold_back) + growth + air_change
    return within(finite(growth, air_change), pushed)


@formula
def swing_into_body(
    shaft_diameter: Values, stroke: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Return how far the bladder is drawn into the body, m^3, when the shaft is fully out; signed.

    Arguments as of `need_into_body`. Below zero, the bladder stays on the cap's side of its rest.
    Return nan for a shaft diameter that is not above zero, a stroke below zero or a number that is
    not finite.
    Source: derived: A_s (S - h) - g - da.

    >>> round(swing_into_body(0.0035, 0.030, 0.030, 100e-9, 0.0) * 1e9, 3)  # mm^3
    -100.0
    """
    drawn = shaft_volume(shaft_diameter, stroke - hold_back) - growth - air_change
    return within(not_negative(stroke) & finite(growth, air_change), drawn)


@formula
def need_into_cap(
    shaft_diameter: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Return the room that the bladder needs into the cap, m^3, when the shaft is fully in.

    `shaft_diameter` in m, above zero; `hold_back` in m; `growth` of the oil and `air_change` of
    the air left in it in m^3, both signed, both since the bench. A hold-back outside the stroke
    is taken as it is, so that the ends of a tolerance can be tried. Return nan for any other shaft
    diameter or a number that is not finite. Worst when hot and high.
    Source: derived: max(0, A_s h + g + da).

    >>> round(need_into_cap(0.0035, 0.010, 0.0, 0.0) * 1e9, 3)  # mm^3
    96.211
    >>> round(need_into_cap(0.0035, 0.010, 242.784e-9, 0.0) * 1e9, 3)
    338.995
    """
    return np.maximum(0.0, swing_into_cap(shaft_diameter, hold_back, growth, air_change))


@formula
def need_into_body(
    shaft_diameter: Values, stroke: Values, hold_back: Values, growth: Values, air_change: Values
) -> Values:
    """Return the room that the bladder needs into the body, m^3, when the shaft is fully out.

    `shaft_diameter` in m, above zero; `stroke` (what a limiter leaves of it) in m, zero or above;
    `hold_back` in m; `growth` of the oil and `air_change` of the air left in it in m^3, both
    signed, both since the bench. A hold-back outside the stroke is taken as it is, so that the
    ends of a tolerance can be tried. Return nan for any other shaft diameter or stroke or a number
    that is not finite. Worst when cold and low.
    Source: derived: max(0, A_s (S - h) - g - da).

    >>> round(need_into_body(0.0035, 0.030, 0.005, 0.0, 0.0) * 1e9, 3)  # mm^3
    240.528
    """
    drawn = swing_into_body(shaft_diameter, stroke, hold_back, growth, air_change)
    return np.maximum(0.0, drawn)


@formula
def smallest_hold_back(
    shaft_diameter: Values,
    stroke: Values,
    room_into_body: Values,
    growth: Values,
    air_change: Values,
) -> Values:
    """Return the least hold-back, m, with which the bladder can follow the shaft fully out.

    `shaft_diameter` in m, above zero; `stroke` in m and `room_into_body` in m^3, zero or above;
    `growth` and `air_change` in m^3, signed, at the coldest and lowest. Not clipped: the answer
    is negative when any hold-back will do, and above the largest hold-back when none will.
    Return nan outside these ranges.
    Source: derived from need_into_body = room.

    With room for 240.528 mm^3, 5 mm of a 30 mm stroke is just enough:

    >>> round(smallest_hold_back(0.0035, 0.030, 240.528e-9, 0.0, 0.0) * 1e3, 3)  # mm
    5.0
    """
    followed = (room_into_body + growth + air_change) / circle_area(shaft_diameter)
    ok = not_negative(stroke, room_into_body) & finite(growth, air_change)
    return within(ok, stroke - followed)


@formula
def largest_hold_back(
    shaft_diameter: Values, room_into_cap: Values, growth: Values, air_change: Values
) -> Values:
    """Return the most hold-back, m, with which the bladder still has room in the cap fully in.

    `shaft_diameter` in m, above zero; `room_into_cap` in m^3, zero or above; `growth` and
    `air_change` in m^3, signed, at the hottest and highest. Not clipped: the answer may lie above
    the stroke, and is negative when growth and air alone fill the cap.
    Return nan outside these ranges.
    Source: derived from need_into_cap = room.

    >>> round(largest_hold_back(0.0035, 338.995e-9, 242.784e-9, 0.0) * 1e3, 3)  # mm
    10.0
    """
    taken = (room_into_cap - growth - air_change) / circle_area(shaft_diameter)
    return within(not_negative(room_into_cap) & finite(growth, air_change), taken)


@formula
def neutral_point(rebound: Values, stroke: Values, hold_back: Values) -> Values:
    """Return where the bladder rests, m from fully in: where the shaft comes back to by itself.

    `rebound` as a share of the stroke, between 0 and 1; `stroke` (what a limiter leaves of it) in
    m, zero or above; `hold_back` in m. Friction only ever hides some of it, so it is no less than
    the hold-back. Return nan outside these ranges.
    Source: derived: max(h, r S).

    Sealed with 9.5 mm showing, and back by 55 % of 34 mm:

    >>> round(neutral_point(0.55, 0.034, 0.0095) * 1e3, 3)  # mm
    18.7
    """
    ok = (rebound >= 0.0) & (rebound <= 1.0) & not_negative(stroke) & finite(hold_back)
    return within(ok, np.maximum(hold_back, rebound * stroke))


@formula
def sealed_in(shaft_diameter: Values, rebound: Values, stroke: Values, hold_back: Values) -> Values:
    """Return the oil that was sealed in beyond what the hold-back says, m^3.

    `shaft_diameter` in m, above zero; `rebound`, `stroke` and `hold_back` as for `neutral_point`.
    Below zero: the seals drag, oil leaked, or air is in it. Return nan outside these ranges.
    Source: derived: A_s (r S - h). A cap that goes on by 0.5 mm after its rim of 14 mm seals
    pushes in 77 mm^3.

    Sealed with 9.5 mm showing, and back by 55 % of 34 mm:

    >>> round(sealed_in(0.0035, 0.55, 0.034, 0.0095) * 1e9, 1)  # mm^3
    88.5
    """
    ok = (rebound >= 0.0) & (rebound <= 1.0) & not_negative(stroke)
    return within(ok, shaft_volume(shaft_diameter, rebound * stroke - hold_back))


@formula
def void_stroke(
    bore: Values, shaft_diameter: Values, room_into_cap: Values, into_cap_need: Values
) -> Values:
    """Return how far the shaft moves slack on the way back once the oil has cavitated, m, at most.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `room_into_cap` and
    `into_cap_need` in m^3, zero or above. Signed: below zero there is none. Return nan outside
    these ranges.
    Source: derived: going in too fast for the holes, the void behind the piston grows with A_n v
    less what they pass, and the bladder takes A_s v and as much again: until its room is used.

    Room of 460 mm^3, 60 of it needed anyway, between 16 and 3.5 mm:

    >>> round(void_stroke(0.016, 0.0035, 460e-9, 60e-9) * 1e3, 2)  # mm
    2.09
    """
    ok = not_negative(room_into_cap, into_cap_need)
    return within(ok, (room_into_cap - into_cap_need) / annulus_area(bore, shaft_diameter))


@formula
def spherical_cap_volume(radius: Values, depth: Values) -> Values:
    """Return the volume of a spherical cap, m^3.

    `radius` of its rim in m, above zero; `depth` in m, zero or above. Return nan outside that.
    Source: geometry: pi h (3 a^2 + h^2) / 6.

    >>> round(spherical_cap_volume(0.007, 0.003) * 1e9, 4)  # mm^3
    245.0442
    """
    volume = math.pi / 6.0 * depth * (3.0 * radius * radius + depth * depth)
    return within(positive(radius) & not_negative(depth), volume)


@formula
def frustum_volume(radius: Values, other_radius: Values, depth: Values) -> Values:
    """Return the volume of a frustum of a cone, m^3.

    `radius` of one face in m, above zero; `other_radius` and `depth` in m, zero or above (zero at
    the other face: a whole cone). Return nan outside that.
    Source: geometry: pi h (R^2 + R r + r^2) / 3.

    >>> round(frustum_volume(0.007, 0.005, 0.004) * 1e9, 3)  # mm^3
    456.578
    """
    squares = radius * radius + radius * other_radius + other_radius * other_radius
    ok = positive(radius) & not_negative(other_radius, depth)
    return within(ok, math.pi / 3.0 * depth * squares)


@formula
def cup_room(radius: Values, depth: Values) -> Values:
    """Return an estimate of the room in a cup-shaped bladder, m^3, where nobody has measured it.

    `radius` of the cup's rim in m, above zero; `depth` in m, zero or above. CUP_SHARE of the
    spherical cap's volume, and no stretch. An estimate: say so beside it. Return nan outside these
    ranges.
    Source: from memory, no source at hand.

    >>> round(cup_room(0.007, 0.003) * 1e9, 3)  # mm^3: 0.8 of 245.0442
    196.035
    """
    return CUP_SHARE * spherical_cap_volume(radius, depth)
