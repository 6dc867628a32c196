"""Areas, the oil the shaft moves, hold-back and the room in a bladder.

Hold-back is the length of shaft still showing when the cap is sealed over a relaxed bladder,
counted from fully in. From there the shaft pushes the bladder into the cap as it goes in, and
draws it into the body as it comes out.
"""

import math

from buildlint.physics._checks import finite, not_negative, positive

CUP_SHARE = 0.8
"""Share of a bladder cup's volume taken as its room when nobody has measured it.

From memory, no source at hand: a default that a measurement replaces.
"""


def circle_area(diameter: float) -> float:
    """Area of a circle, m^2.

    `diameter` in m, above zero. Raises ValueError otherwise.
    Source: geometry.

    >>> round(circle_area(0.0035) * 1e6, 4)  # mm^2
    9.6211
    """
    positive("diameter", diameter)
    return math.pi * diameter * diameter / 4.0


def annulus_area(bore: float, shaft_diameter: float) -> float:
    """Area between bore and shaft, m^2: what the piston sweeps on the shaft's side.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger. Raises ValueError otherwise.
    Source: geometry.

    At sea level this area carries at most 19.398 N of suction:

    >>> round(annulus_area(0.016, 0.0035) * 101325.0, 3)
    19.398
    """
    positive("shaft diameter", shaft_diameter)
    if not shaft_diameter < bore < math.inf:
        shaft, hole = (f"{size * 1e3:g} mm" for size in (shaft_diameter, bore))
        raise ValueError(f"the shaft, {shaft}, must be thinner than the bore, {hole}")
    # The product keeps its digits when shaft and bore are close.
    return math.pi * (bore - shaft_diameter) * (bore + shaft_diameter) / 4.0


def shaft_volume(shaft_diameter: float, travel: float) -> float:
    """Volume of oil that the shaft displaces over a travel, m^3.

    `shaft_diameter` in m, above zero; `travel` in m, into the body counted positive.
    Raises ValueError for any other shaft diameter or a travel that is not finite.
    Source: geometry.

    >>> round(shaft_volume(0.0035, 0.030) * 1e9, 3)  # mm^3
    288.634
    """
    finite("travel", travel)
    return circle_area(shaft_diameter) * travel


def swing_into_cap(
    shaft_diameter: float, hold_back: float, growth: float, air_change: float
) -> float:
    """How far the bladder is pushed into the cap, m^3, when the shaft is fully in; signed.

    Arguments as of `need_into_cap`; raises ValueError as that does, for a shaft diameter that is
    not above zero or a number that is not finite. Below zero, the bladder stays on the body's side
    of its rest. Source: derived: A_s h + g + da.

    >>> round(swing_into_cap(0.0035, 0.010, -100e-9, 0.0) * 1e9, 3)  # mm^3
    -3.789
    """
    finite("growth", growth)
    finite("air change", air_change)
    return shaft_volume(shaft_diameter, hold_back) + growth + air_change


def swing_into_body(
    shaft_diameter: float, stroke: float, hold_back: float, growth: float, air_change: float
) -> float:
    """How far the bladder is drawn into the body, m^3, when the shaft is fully out; signed.

    Arguments as of `need_into_body`; raises ValueError as that does, for a shaft diameter that is
    not above zero, a stroke below zero or a number that is not finite. Below zero, the bladder
    stays on the cap's side of its rest. Source: derived: A_s (S - h) - g - da.

    >>> round(swing_into_body(0.0035, 0.030, 0.030, 100e-9, 0.0) * 1e9, 3)  # mm^3
    -100.0
    """
    not_negative("stroke", stroke)
    finite("growth", growth)
    finite("air change", air_change)
    return shaft_volume(shaft_diameter, stroke - hold_back) - growth - air_change


def need_into_cap(
    shaft_diameter: float, hold_back: float, growth: float, air_change: float
) -> float:
    """Room that the bladder needs into the cap, m^3, when the shaft is fully in.

    `shaft_diameter` in m, above zero; `hold_back` in m; `growth` of the oil and `air_change` of
    the air left in it in m^3, both signed, both since the bench. A hold-back outside the stroke
    is taken as it is, so that the ends of a tolerance can be tried. Raises ValueError for any
    other shaft diameter or a number that is not finite. Worst when hot and high.
    Source: derived: max(0, A_s h + g + da).

    >>> round(need_into_cap(0.0035, 0.010, 0.0, 0.0) * 1e9, 3)  # mm^3
    96.211
    >>> round(need_into_cap(0.0035, 0.010, 240.084e-9, 0.0) * 1e9, 3)
    336.295
    """
    return max(0.0, swing_into_cap(shaft_diameter, hold_back, growth, air_change))


def need_into_body(
    shaft_diameter: float, stroke: float, hold_back: float, growth: float, air_change: float
) -> float:
    """Room that the bladder needs into the body, m^3, when the shaft is fully out.

    `shaft_diameter` in m, above zero; `stroke` (what a limiter leaves of it) in m, zero or above;
    `hold_back` in m; `growth` of the oil and `air_change` of the air left in it in m^3, both
    signed, both since the bench. A hold-back outside the stroke is taken as it is, so that the
    ends of a tolerance can be tried. Raises ValueError for any other shaft diameter or stroke or
    a number that is not finite. Worst when cold and low.
    Source: derived: max(0, A_s (S - h) - g - da).

    >>> round(need_into_body(0.0035, 0.030, 0.005, 0.0, 0.0) * 1e9, 3)  # mm^3
    240.528
    """
    return max(0.0, swing_into_body(shaft_diameter, stroke, hold_back, growth, air_change))


def smallest_hold_back(
    shaft_diameter: float,
    stroke: float,
    room_into_body: float,
    growth: float,
    air_change: float,
) -> float:
    """Least hold-back, m, with which the bladder can follow the shaft fully out.

    `shaft_diameter` in m, above zero; `stroke` in m and `room_into_body` in m^3, zero or above;
    `growth` and `air_change` in m^3, signed, at the coldest and lowest. Not clipped: the answer
    is negative when any hold-back will do, and above the largest hold-back when none will.
    Raises ValueError for arguments outside these ranges.
    Source: derived from need_into_body = room.

    With room for 240.528 mm^3, 5 mm of a 30 mm stroke is just enough:

    >>> round(smallest_hold_back(0.0035, 0.030, 240.528e-9, 0.0, 0.0) * 1e3, 3)  # mm
    5.0
    """
    not_negative("stroke", stroke)
    not_negative("room into the body", room_into_body)
    finite("growth", growth)
    finite("air change", air_change)
    return stroke - (room_into_body + growth + air_change) / circle_area(shaft_diameter)


def largest_hold_back(
    shaft_diameter: float, room_into_cap: float, growth: float, air_change: float
) -> float:
    """Most hold-back, m, with which the bladder still has room in the cap fully in.

    `shaft_diameter` in m, above zero; `room_into_cap` in m^3, zero or above; `growth` and
    `air_change` in m^3, signed, at the hottest and highest. Not clipped: the answer may lie above
    the stroke, and is negative when growth and air alone fill the cap.
    Raises ValueError for arguments outside these ranges.
    Source: derived from need_into_cap = room.

    >>> round(largest_hold_back(0.0035, 336.295e-9, 240.084e-9, 0.0) * 1e3, 3)  # mm
    10.0
    """
    not_negative("room into the cap", room_into_cap)
    finite("growth", growth)
    finite("air change", air_change)
    return (room_into_cap - growth - air_change) / circle_area(shaft_diameter)


def spherical_cap_volume(radius: float, depth: float) -> float:
    """Volume of a spherical cap, m^3.

    `radius` of its rim in m, above zero; `depth` in m, zero or above. Raises ValueError otherwise.
    Source: geometry: pi h (3 a^2 + h^2) / 6.

    >>> round(spherical_cap_volume(0.007, 0.003) * 1e9, 4)  # mm^3
    245.0442
    """
    positive("radius", radius)
    not_negative("depth", depth)
    return math.pi * depth * (3.0 * radius * radius + depth * depth) / 6.0


def frustum_volume(radius: float, other_radius: float, depth: float) -> float:
    """Volume of a frustum of a cone, m^3.

    `radius` of one face in m, above zero; `other_radius` and `depth` in m, zero or above (zero at
    the other face: a whole cone). Raises ValueError otherwise.
    Source: geometry: pi h (R^2 + R r + r^2) / 3.

    >>> round(frustum_volume(0.007, 0.005, 0.004) * 1e9, 3)  # mm^3
    456.578
    """
    positive("radius", radius)
    not_negative("other radius", other_radius)
    not_negative("depth", depth)
    squares = radius * radius + radius * other_radius + other_radius * other_radius
    return math.pi * depth * squares / 3.0


def cup_room(radius: float, depth: float) -> float:
    """Estimate of the room a cup-shaped bladder gives, m^3, where nobody has measured it.

    `radius` of the cup's rim in m, above zero; `depth` in m, zero or above. CUP_SHARE of the
    spherical cap's volume, and no stretch. An estimate: say so beside it. Raises ValueError for
    arguments outside these ranges.
    Source: from memory, no source at hand.

    >>> round(cup_room(0.007, 0.003) * 1e9, 3)  # mm^3: 0.8 of 245.0442
    196.035
    """
    return CUP_SHARE * spherical_cap_volume(radius, depth)
