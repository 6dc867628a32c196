"""Oil through the piston's holes: damping, force, and the speeds where its character changes.

In a hole the pressure drops by

    dp = 32 mu V (L + 3 pi d/16)/d^2 + K rho V^2/2

Hagen and Poiseuille in its length L, Sampson's loss at its ends, and a kinetic loss. The first
two make the damping c, the last the coefficient q of force = c v + q v |v|. The flow is laminar at
every speed a damper sees; above about 1 m/s the oil may also shear-thin (from memory, no source at
hand), so call figures there indicative.

`holes` is a sequence of (count, diameter), one for each size. Each may be an array, one number for
each damper; a size whose count is 0 is not there, whatever its diameter, so that dampers with
different numbers of sizes fit into one array. A `taper_to` is the diameter at the other face of the
largest holes, None or nan for plain ones; smaller holes taper in the same ratio. Taper changes the
loss along the hole; losses at the ends and the kinetic loss are taken at the diameter given in
`holes`.
"""

import math
from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np

from buildlint.physics.displacement import annulus_area
from buildlint.physics.values import (
    Mask,
    Values,
    finite,
    formula,
    not_negative,
    positive,
    within,
)

Holes: TypeAlias = Sequence[tuple[Values, Values]]
"""Piston holes: a count and a diameter in m for each size."""

KINETIC_LOSS = 1.5
"""Kinetic loss K of a hole; 1.5 to 2.25 is defensible.

1.5 stays closest to Lichtarowicz, Duggins & Markland 1965.
"""


@formula
def taper_factor(diameter: Values, other_diameter: Values) -> Values:
    """Return the loss along a hole with a linear taper, over that of a plain hole of `diameter`.

    Diameters at the two faces in m, above zero. Return nan outside that.
    Source: derived: Hagen-Poiseuille integrated along the hole. Written without the difference of
    the diameters below the line, so that a slight taper loses no digits.

    >>> taper_factor(0.0018, 0.0018)
    1.0
    >>> round(taper_factor(0.0018, 0.0016), 6)
    1.271484
    """
    ratio = diameter / other_diameter
    return within(positive(diameter, other_diameter), ratio * (1.0 + ratio + ratio * ratio) / 3.0)


@formula
def hole_conductance(
    count: Values,
    diameter: Values,
    thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None = None,
) -> Values:
    """Return the flow per pressure through holes of one size at low speed, m^3/(s Pa).

    `count`, 1 or more; `diameter`, `thickness` of the piston (the holes' length) and `taper_to`
    (diameter at the other face, None or nan for plain holes) in m, `dynamic_viscosity` in Pa s,
    above zero. Return nan outside that.
    Source: Hagen-Poiseuille with Sampson's end loss; adding the two is Weissberg 1962 and Dagan
    1982 (from memory, no source at hand).

    4 holes of 1.8 mm in 2.5 mm, oil of 375 cSt and 968 kg/m^3, make a damping of 45.959 N s/m
    with a bore of 16 mm and a shaft of 3.5 mm:

    >>> conductance = hole_conductance(4, 0.0018, 0.0025, 0.363)
    >>> round(annulus_area(0.016, 0.0035) ** 2 / conductance, 3)
    45.959
    """
    sizes, ok = _sizes(((count, diameter),), thickness, dynamic_viscosity, taper_to)
    return within(ok, _conductance(sizes))


@formula
def damping(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None = None,
) -> Values:
    """Return the damping c at low speed, N s/m.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `thickness` of the piston and `taper_to` in m, `dynamic_viscosity` in Pa s, above zero.
    Where sizes differ, `taper_to` belongs to the largest and the others taper in the same ratio.
    Return nan outside these ranges.
    Source: derived: A_n^2 over the sum of the holes' conductances.

    >>> round(damping(0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363), 3)
    45.959
    """
    swept = annulus_area(bore, shaft_diameter)
    sizes, ok = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    return within(ok, swept * swept / _conductance(sizes))


@formula
def kinetic(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    density: Values,
    loss: Values = KINETIC_LOSS,
) -> Values:
    """Return the kinetic coefficient q of force = c v + q v |v|, N s^2/m^2.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `density` in kg/m^3, above zero; `loss` K, zero or above. Return nan outside that.
    Source: derived: A_n^3 K rho / (2 A^2), A the holes' whole area. Exact for holes of one size;
    for several it takes one speed in all of them, which `force` does not.

    At 2 m/s these holes need 288.58 N: 45.959 N s/m and q make it up.

    >>> q = kinetic(0.016, 0.0035, ((4, 0.0018),), 968.0)
    >>> round(45.959 * 2 + q * 2**2, 2)
    288.58
    """
    swept = annulus_area(bore, shaft_diameter)
    sizes, ok = _present(holes)
    speed_ratio = swept / _total(_area(*size) for size in sizes)
    quadratic = swept * speed_ratio * speed_ratio * loss * density / 2.0
    return within(ok & positive(density) & not_negative(loss), quadratic)


@formula
def pressure_drop(
    flow: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    density: Values,
    loss: Values = KINETIC_LOSS,
    taper_to: Values | None = None,
) -> Values:
    """Return the pressure across the piston at a flow through its holes, Pa; signed with the flow.

    `flow` in m^3/s; `holes` of one or more sizes, which share one pressure and each carry their
    own flow; `thickness` of the piston and `taper_to` in m, `dynamic_viscosity` in Pa s and
    `density` in kg/m^3, above zero; `loss` K, zero or above. Return nan outside that.
    Source: derived: Hagen-Poiseuille, Sampson's end loss and a kinetic loss, solved for dp.

    The flow at 0.5 m/s, whose force is 35.271 N:

    >>> area = annulus_area(0.016, 0.0035)
    >>> round(area * pressure_drop(area * 0.5, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    35.271
    """
    sizes, ok = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    ok = ok & finite(flow) & positive(density) & not_negative(loss)
    wanted = within(ok, np.abs(flow))
    kinetic_part = loss * density / 2.0
    if len(sizes) == 1:
        area, resistance = sizes[0]
        speed = wanted / area
        drop = speed * (resistance + kinetic_part * speed)
    else:
        drop = _shared_drop(wanted, sizes, kinetic_part)
    return np.copysign(drop, flow)


@formula
def force(
    speed: Values,
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    density: Values,
    loss: Values = KINETIC_LOSS,
    taper_to: Values | None = None,
) -> Values:
    """Return the damping force at a shaft speed, N; signed with the speed.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; the rest as
    for `pressure_drop`. Takes no account of cavitation: see `cavitation_speed`. Return nan outside
    these ranges.
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


@formula
def pack_speed(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    density: Values,
    loss: Values = KINETIC_LOSS,
    taper_to: Values | None = None,
) -> Values:
    """Return the shaft speed at which the kinetic force has grown as large as the viscous one, m/s.

    Arguments as for `force`; infinite when `loss` is zero. Return nan outside their ranges.
    Source: derived: c/q, with `damping` and `kinetic`.

    >>> round(pack_speed(0.016, 0.0035, ((8, 0.0013),), 0.0025, 0.363, 968.0), 2)
    1.71
    """
    viscous = damping(bore, shaft_diameter, holes, thickness, dynamic_viscosity, taper_to)
    quadratic = kinetic(bore, shaft_diameter, holes, density, loss)
    return np.divide(viscous, quadratic)


@formula
def cavitation_speed(
    pressure: Values,
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    density: Values,
    loss: Values = KINETIC_LOSS,
    taper_to: Values | None = None,
) -> Values:
    """Return the shaft speed going in, m/s, at which the space behind the piston is drawn empty.

    `pressure` over the oil in Pa (absolute), above zero; the rest as for `force`. Faster than this
    the damper cavitates and goes slack on the way back. Return nan outside these ranges.
    Source: derived: the speed whose force is p A_n. For holes of one size the root of
    c v + q v^2 = p A_n; for several, each carries its own flow at that pressure.

    >>> round(cavitation_speed(101325.0, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    0.316
    """
    sizes, ok = _sizes(holes, thickness, dynamic_viscosity, taper_to)
    kinetic_part = loss * density / 2.0
    flow = _total(
        area * _hole_speed(pressure, resistance, kinetic_part) for area, resistance in sizes
    )
    ok = ok & positive(pressure, density) & not_negative(loss)
    return within(ok, flow / annulus_area(bore, shaft_diameter))


@formula
def reynolds(
    speed: Values, bore: Values, shaft_diameter: Values, holes: Holes, viscosity: Values
) -> Values:
    """Return the Reynolds number in the holes at a shaft speed; laminar below about 2000.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of
    one or more sizes (with several: the largest, at the mean speed); kinematic `viscosity` in
    m^2/s, above zero. Return nan outside that.
    Source: definition: V d / nu.

    >>> round(reynolds(2.0, 0.016, 0.0035, ((4, 0.0018),), 375e-6), 1)
    180.6
    """
    sizes, ok = _present(holes)
    area = _total(_area(*size) for size in sizes)
    through = np.abs(speed) * annulus_area(bore, shaft_diameter) / area
    return within(ok & finite(speed) & positive(viscosity), through * _largest(sizes) / viscosity)


@formula
def leak_flow(
    piston_diameter: Values,
    clearance: Values,
    pressure_drop: Values,
    dynamic_viscosity: Values,
    thickness: Values,
    eccentric: bool = False,
) -> Values:
    """Return the flow past the outside of the piston, m^3/s; signed with the pressure.

    `piston_diameter` in m, above zero; `clearance` (radial) in m, zero or above; `pressure_drop`
    in Pa; `dynamic_viscosity` in Pa s and `thickness` of the piston in m, above zero; `eccentric`
    when the piston lies fully to one side, which lets 2.5 times as much through. Return nan outside
    these ranges.
    Source: derived: laminar flow in a narrow slit, pi D e^3 dp / (12 mu L).

    Beside 4 holes of 1.8 mm, a clearance of 0.10 mm lets 0.6 % as much through:

    >>> leak = leak_flow(0.016, 0.0001, 1.0, 0.363, 0.0025)
    >>> round(leak / hole_conductance(4, 0.0018, 0.0025, 0.363) * 100, 1)
    0.6
    """
    slit = math.pi * piston_diameter * clearance * clearance * clearance
    flow = slit * pressure_drop / (12.0 * dynamic_viscosity * thickness)
    ok = positive(piston_diameter, dynamic_viscosity, thickness)
    ok = ok & not_negative(clearance) & finite(pressure_drop)
    return within(ok, 2.5 * flow if eccentric else flow)


def _present(holes: Holes) -> tuple[list[tuple[Values, Values]], Mask]:
    """Return the holes, those of a size that is not there 0 wide, and where there can be such.

    What is 0 wide has no area and takes no flow, in all that is worked out of it.
    """
    sizes: list[tuple[Values, Values]] = []
    ok: Mask = True
    some: Mask = False
    for count, diameter in holes:
        absent = count == 0.0
        sizes.append((count, np.where(absent, 0.0, diameter)))
        ok = ok & (absent | (positive(count, diameter) & (count >= 1.0)))
        some = some | (count != 0.0)
    return sizes, ok & some


def _area(count: Values, diameter: Values) -> Values:
    return count * math.pi / 4.0 * diameter * diameter


def _largest(sizes: Sequence[tuple[Values, Values]]) -> Values:
    largest: Values = 0.0
    for _, diameter in sizes:
        largest = np.maximum(largest, diameter)
    return largest


def _sizes(
    holes: Holes, thickness: Values, dynamic_viscosity: Values, taper_to: Values | None
) -> tuple[list[tuple[Values, Values]], Mask]:
    """Return area and resistance dp/V at low speed, for each size of hole, and where all can be."""
    present, ok = _present(holes)
    ok = ok & positive(thickness, dynamic_viscosity)
    length = thickness
    if taper_to is not None:
        # One ratio for every size, so one factor too.
        plain = np.isnan(taper_to)
        length = length * np.where(plain, 1.0, taper_factor(_largest(present), taper_to))
        ok = ok & (plain | positive(taper_to))
    sizes = []
    for count, diameter in present:
        passage = length + 3.0 * math.pi / 16.0 * diameter
        resistance = 32.0 * dynamic_viscosity * passage / (diameter * diameter)
        sizes.append((_area(count, diameter), resistance))
    return sizes, ok


def _conductance(sizes: Sequence[tuple[Values, Values]]) -> Values:
    return _total(area / resistance for area, resistance in sizes)


def _total(values: Iterable[Values]) -> Values:
    """Return the sum; of nothing numpy's zero, by which a number can be divided."""
    return sum(values, start=np.float64(0.0))


def _hole_speed(drop: Values, resistance: Values, kinetic_part: Values) -> Values:
    """Return the root V of resistance V + kinetic_part V^2 = drop, so that no digits cancel."""
    root = np.sqrt(resistance * resistance + 4.0 * kinetic_part * drop)
    return 2.0 * drop / (resistance + root)


def _shared_drop(
    wanted: Values, sizes: Sequence[tuple[Values, Values]], kinetic_part: Values
) -> Values:
    """Return the pressure at which holes of several sizes together carry the flow wanted."""
    speed = wanted / _total(area for area, _ in sizes)
    # Each loss alone would need less than both together, so the start lies below the answer. The
    # flow rises with pressure ever more slowly, so Newton's steps climb to it and never pass it.
    drop = np.maximum(wanted / _conductance(sizes), kinetic_part * speed * speed)
    for _ in range(50):
        missing = wanted
        steepness: Values = 0.0
        squared = 4.0 * kinetic_part * drop
        for area, resistance in sizes:
            root = np.sqrt(resistance * resistance + squared)
            missing = missing - area * 2.0 * drop / (resistance + root)
            steepness = steepness + area / root
        step = missing / steepness
        moves = step > 1e-14 * drop
        if not np.any(moves):
            break
        # What has settled stays, so that no damper's figure depends on the others in the array.
        drop = np.where(moves, drop + step, drop)
    return drop
