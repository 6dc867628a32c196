"""Oil through the piston's holes: damping, force, and the speeds where its character changes.

In a hole the pressure drops by

    dp = 32 mu V (L + 3 pi d/16)/d^2 + K rho V^2/2

Hagen and Poiseuille in its length L, Sampson's loss at its ends, and a kinetic loss. The first
two make the damping c, the last the coefficient q of force = c v + q v |v|. The flow is laminar at
every speed a damper sees; above about 1 m/s the oil may also shear-thin (from memory, no source at
hand), so call figures there indicative.

`holes` is a tuple of (count, diameter), one for each size. A `taper_to` is the diameter at the
other face of the largest holes; smaller holes taper in the same ratio. Taper changes the loss along
the hole; losses at the ends and the kinetic loss are taken at the diameter given in `holes`.
"""

import math

from buildlint.physics._checks import finite, not_negative, positive
from buildlint.physics.displacement import annulus_area

Holes = tuple[tuple[int, float], ...]
"""Piston holes: a count and a diameter in m for each size."""

KINETIC_LOSS = 1.5
"""Kinetic loss K of a hole; 1.5 to 2.25 is defensible.

1.5 stays closest to Lichtarowicz, Duggins & Markland 1965.
"""


def taper_factor(diameter: float, other_diameter: float) -> float:
    """Loss along a hole with a linear taper, over that of a plain hole of `diameter`.

    Diameters at the two faces in m, above zero. Raises ValueError otherwise.
    Source: derived: Hagen-Poiseuille integrated along the hole. Written without the difference of
    the diameters below the line, so that a slight taper loses no digits.

    >>> taper_factor(0.0018, 0.0018)
    1.0
    >>> round(taper_factor(0.0018, 0.0016), 6)
    1.271484
    """
    positive("diameter", diameter)
    positive("other diameter", other_diameter)
    ratio = diameter / other_diameter
    return ratio * (1.0 + ratio + ratio * ratio) / 3.0


def hole_conductance(
    count: int,
    diameter: float,
    thickness: float,
    dynamic_viscosity: float,
    taper_to: float | None = None,
) -> float:
    """Flow per pressure through holes of one size at low speed, m^3/(s Pa).

    `count`, 1 or more; `diameter`, `thickness` of the piston (the holes' length) and `taper_to`
    (diameter at the other face, None for plain holes) in m, `dynamic_viscosity` in Pa s, above
    zero. Raises ValueError otherwise.
    Source: Hagen-Poiseuille with Sampson's end loss; adding the two is Weissberg 1962 and Dagan
    1982 (from memory, no source at hand).

    4 holes of 1.8 mm in 2.5 mm, oil of 375 cSt and 968 kg/m^3, make a damping of 45.959 N s/m
    with a bore of 16 mm and a shaft of 3.5 mm:

    >>> conductance = hole_conductance(4, 0.0018, 0.0025, 0.363)
    >>> round(annulus_area(0.016, 0.0035) ** 2 / conductance, 3)
    45.959
    """
    ((area, resistance),) = _sizes(((count, diameter),), thickness, dynamic_viscosity, taper_to)
    return area / resistance


def damping(
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    thickness: float,
    dynamic_viscosity: float,
    taper_to: float | None = None,
) -> float:
    """Damping c at low speed, N s/m.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `thickness` of the piston and `taper_to` in m, `dynamic_viscosity` in Pa s, above zero.
    Where sizes differ, `taper_to` belongs to the largest and the others taper in the same ratio.
    Raises ValueError for arguments outside these ranges.
    Source: derived: A_n^2 over the sum of the holes' conductances.

    >>> round(damping(0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363), 3)
    45.959
    """
    swept = annulus_area(bore, shaft_diameter)
    sizes = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    return swept * swept / sum(area / resistance for area, resistance in sizes)


def kinetic(
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    density: float,
    loss: float = KINETIC_LOSS,
) -> float:
    """Kinetic coefficient q of force = c v + q v |v|, N s^2/m^2.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `density` in kg/m^3, above zero; `loss` K, zero or above. Raises ValueError otherwise.
    Source: derived: A_n^3 K rho / (2 A^2), A the holes' whole area. Exact for holes of one size;
    for several it takes one speed in all of them, which `force` does not.

    At 2 m/s these holes need 288.58 N: 45.959 N s/m and q make it up.

    >>> q = kinetic(0.016, 0.0035, ((4, 0.0018),), 968.0)
    >>> round(45.959 * 2 + q * 2**2, 2)
    288.58
    """
    swept = annulus_area(bore, shaft_diameter)
    positive("density", density)
    not_negative("loss", loss)
    speed_ratio = swept / _open_area(holes)
    return swept * speed_ratio * speed_ratio * loss * density / 2.0


def pressure_drop(
    flow: float,
    holes: Holes,
    thickness: float,
    dynamic_viscosity: float,
    density: float,
    loss: float = KINETIC_LOSS,
    taper_to: float | None = None,
) -> float:
    """Pressure across the piston at a flow through its holes, Pa; signed with the flow.

    `flow` in m^3/s; `holes` of one or more sizes, which share one pressure and each carry their
    own flow; `thickness` of the piston and `taper_to` in m, `dynamic_viscosity` in Pa s and
    `density` in kg/m^3, above zero; `loss` K, zero or above. Raises ValueError otherwise.
    Source: derived: Hagen-Poiseuille, Sampson's end loss and a kinetic loss, solved for dp.

    The flow at 0.5 m/s, whose force is 35.271 N:

    >>> area = annulus_area(0.016, 0.0035)
    >>> round(area * pressure_drop(area * 0.5, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    35.271
    """
    finite("flow", flow)
    positive("density", density)
    not_negative("loss", loss)
    sizes = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    wanted = abs(flow)
    kinetic_part = loss * density / 2.0
    if len(sizes) == 1:
        area, resistance = sizes[0]
        speed = wanted / area
        drop = speed * (resistance + kinetic_part * speed)
    else:
        drop = _shared_drop(wanted, sizes, kinetic_part)
    return math.copysign(drop, flow)


def force(
    speed: float,
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    thickness: float,
    dynamic_viscosity: float,
    density: float,
    loss: float = KINETIC_LOSS,
    taper_to: float | None = None,
) -> float:
    """Damping force at a shaft speed, N; signed with the speed.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; the rest as
    for `pressure_drop`. Takes no account of cavitation: see `cavitation_speed`. Raises ValueError
    for arguments outside these ranges.
    Source: derived: A_n dp.

    >>> round(force(0.05, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    2.421
    >>> round(force(-2.0, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 2)
    -288.58
    """
    swept = annulus_area(bore, shaft_diameter)
    return swept * pressure_drop(
        swept * speed, holes, thickness, dynamic_viscosity, density, loss, taper_to
    )


def pack_speed(
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    thickness: float,
    dynamic_viscosity: float,
    density: float,
    loss: float = KINETIC_LOSS,
    taper_to: float | None = None,
) -> float:
    """Shaft speed at which the kinetic force has grown as large as the viscous one, m/s.

    Arguments as for `force`; infinite when `loss` is zero. Raises ValueError for arguments outside
    their ranges.
    Source: derived: c/q, with `damping` and `kinetic`.

    >>> round(pack_speed(0.016, 0.0035, ((8, 0.0013),), 0.0025, 0.363, 968.0), 2)
    1.71
    """
    viscous = damping(bore, shaft_diameter, holes, thickness, dynamic_viscosity, taper_to)
    quadratic = kinetic(bore, shaft_diameter, holes, density, loss)
    return viscous / quadratic if quadratic > 0.0 else math.inf


def cavitation_speed(
    pressure: float,
    bore: float,
    shaft_diameter: float,
    holes: Holes,
    thickness: float,
    dynamic_viscosity: float,
    density: float,
    loss: float = KINETIC_LOSS,
    taper_to: float | None = None,
) -> float:
    """Shaft speed going in at which the space behind the piston is drawn down to nothing, m/s.

    `pressure` over the oil in Pa (absolute), above zero; the rest as for `force`. Faster than this
    the damper cavitates and goes slack on the way back. Raises ValueError for arguments outside
    these ranges.
    Source: derived: the speed whose force is p A_n. For holes of one size the root of
    c v + q v^2 = p A_n; for several, each carries its own flow at that pressure.

    >>> round(cavitation_speed(101325.0, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    0.316
    """
    positive("pressure", pressure)
    positive("density", density)
    not_negative("loss", loss)
    swept = annulus_area(bore, shaft_diameter)
    sizes = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    kinetic_part = loss * density / 2.0
    return (
        sum(area * _hole_speed(pressure, resistance, kinetic_part) for area, resistance in sizes)
        / swept
    )


def reynolds(
    speed: float, bore: float, shaft_diameter: float, holes: Holes, viscosity: float
) -> float:
    """Reynolds number in the holes at a shaft speed; below about 2000 the flow is laminar.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of
    one or more sizes (with several: the largest, at the mean speed); kinematic `viscosity` in
    m^2/s, above zero. Raises ValueError otherwise.
    Source: definition: V d / nu.

    >>> round(reynolds(2.0, 0.016, 0.0035, ((4, 0.0018),), 375e-6), 1)
    180.6
    """
    finite("speed", speed)
    positive("viscosity", viscosity)
    through = abs(speed) * annulus_area(bore, shaft_diameter) / _open_area(holes)
    return through * max(diameter for _, diameter in holes) / viscosity


def leak_flow(
    piston_diameter: float,
    clearance: float,
    pressure_drop: float,
    dynamic_viscosity: float,
    thickness: float,
    eccentric: bool = False,
) -> float:
    """Flow past the outside of the piston, m^3/s; signed with the pressure.

    `piston_diameter` in m, above zero; `clearance` (radial) in m, zero or above; `pressure_drop`
    in Pa; `dynamic_viscosity` in Pa s and `thickness` of the piston in m, above zero; `eccentric`
    when the piston lies fully to one side, which lets 2.5 times as much through. Raises ValueError
    for arguments outside these ranges.
    Source: derived: laminar flow in a narrow slit, pi D e^3 dp / (12 mu L).

    Beside 4 holes of 1.8 mm, a clearance of 0.10 mm lets 0.6 % as much through:

    >>> leak = leak_flow(0.016, 0.0001, 1.0, 0.363, 0.0025)
    >>> round(leak / hole_conductance(4, 0.0018, 0.0025, 0.363) * 100, 1)
    0.6
    """
    positive("piston diameter", piston_diameter)
    not_negative("clearance", clearance)
    finite("pressure drop", pressure_drop)
    positive("dynamic viscosity", dynamic_viscosity)
    positive("thickness", thickness)
    slit = math.pi * piston_diameter * clearance * clearance * clearance
    flow = slit * pressure_drop / (12.0 * dynamic_viscosity * thickness)
    return 2.5 * flow if eccentric else flow


_NO_HOLE = "a piston needs at least one hole"


def _area(count: int, diameter: float) -> float:
    if not count >= 1:
        raise ValueError(f"the count of holes must be 1 or more, not {count}")
    positive("hole diameter", diameter)
    return count * math.pi * diameter * diameter / 4.0


def _open_area(holes: Holes) -> float:
    if not holes:
        raise ValueError(_NO_HOLE)
    return sum(_area(count, diameter) for count, diameter in holes)


def _sizes(
    holes: Holes, thickness: float, dynamic_viscosity: float, taper_to: float | None
) -> list[tuple[float, float]]:
    """Area and resistance dp/V at low speed, for each size of hole."""
    if not holes:
        raise ValueError(_NO_HOLE)
    positive("thickness", thickness)
    positive("dynamic viscosity", dynamic_viscosity)
    length = thickness
    if taper_to is not None:
        # One ratio for every size, so one factor too.
        length *= taper_factor(max(diameter for _, diameter in holes), taper_to)
    sizes = []
    for count, diameter in holes:
        area = _area(count, diameter)
        passage = length + 3.0 * math.pi * diameter / 16.0
        sizes.append((area, 32.0 * dynamic_viscosity * passage / (diameter * diameter)))
    return sizes


def _hole_speed(drop: float, resistance: float, kinetic_part: float) -> float:
    """Root V of resistance V + kinetic_part V^2 = drop, in the form that cancels no digits."""
    root = math.sqrt(resistance * resistance + 4.0 * kinetic_part * drop)
    return 2.0 * drop / (resistance + root)


def _shared_drop(wanted: float, sizes: list[tuple[float, float]], kinetic_part: float) -> float:
    """Pressure at which holes of several sizes together carry the flow wanted."""
    speed = wanted / sum(area for area, _ in sizes)
    # Each loss alone would need less than both together, so the start lies below the answer. The
    # flow rises with pressure ever more slowly, so Newton's steps climb to it and never pass it.
    drop = max(
        wanted / sum(area / resistance for area, resistance in sizes), kinetic_part * speed * speed
    )
    for _ in range(50):
        missing = wanted
        steepness = 0.0
        for area, resistance in sizes:
            root = math.sqrt(resistance * resistance + 4.0 * kinetic_part * drop)
            missing -= area * 2.0 * drop / (resistance + root)
            steepness += area / root
        step = missing / steepness
        drop += step
        if step <= 1e-14 * drop:
            break
    return drop
