"""Oil through the piston's holes: damping, force, and the speeds where its character changes.

In a hole the pressure drops by

    dp = 32 mu V (L + 3 pi d/16)/d^2 + K rho V^2/2

Hagen and Poiseuille in its length L, Sampson's loss at its ends, and a kinetic loss. The first
two make the damping c, the last the coefficient q of force = c v + q v |v|. The flow is laminar at
every speed a damper sees. The oil is Newtonian up to 1000 cSt and a shear rate of about 10,000 1/s
(Handbook of Rheological Additives, 7.21); above 2 m/s, and for 1000 cSt and thicker, it may also
shear-thin (not checked against a source): call figures there indicative.

`holes` is a sequence of (count, diameter), one for each size. Each may be an array, one number for
each damper; a size whose count is 0 is not there, whatever its diameter, so that dampers with
different numbers of sizes fit into one array. A `taper_to` is the diameter at the other face of the
largest holes, None or nan for plain ones; smaller holes taper in the same ratio. Half of the loss
at the ends is taken at each face, the kinetic loss at the narrow one, so that it does not matter
which face is written down first. (In truth a tapered hole passes oil more easily from wide to
narrow, at speed; that is left out.) A `chamfer` is the width of the broken edge at each face, None
or nan for sharp ones: it shortens the hole.
"""

import math

import numpy as np

from buildlint.physics.displacement import annulus_area
from buildlint.physics.holes import (
    Holes,
    area_of,
    conductance,
    hole_speed,
    largest,
    narrow,
    shared_drop,
    sizes_of,
    total,
)
from buildlint.physics.values import Values, finite, formula, not_negative, positive, within

KINETIC_LOSS = 1.5
"""Kinetic loss K of a hole.

1.5 stays closest to Lichtarowicz, Duggins & Markland 1965.
"""


@formula
def hole_conductance(
    count: Values,
    diameter: Values,
    thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Return the flow per pressure through holes of one size at low speed, m^3/(s Pa).

    `count`, 1 or more; `diameter`, `thickness` of the piston (the holes' length) and `taper_to`
    (diameter at the other face, None or nan for plain holes) in m, `dynamic_viscosity` in Pa s,
    above zero; `chamfer` (None or nan for sharp edges) in m, zero or above, and leaving the hole
    some length. Return nan outside that.
    Source: Hagen-Poiseuille with Sampson's end loss; adding the two is Weissberg 1962 and Dagan
    1982 (from memory, no source at hand).

    4 holes of 1.8 mm in 2.5 mm, oil of 375 cSt and 968 kg/m^3, make a damping of 45.959 N s/m
    with a bore of 16 mm and a shaft of 3.5 mm:

    >>> per_pascal = hole_conductance(4, 0.0018, 0.0025, 0.363)
    >>> round(annulus_area(0.016, 0.0035) ** 2 / per_pascal, 3)
    45.959
    """
    sizes, ok = sizes_of(((count, diameter),), thickness, dynamic_viscosity, taper_to, chamfer)
    return within(ok, conductance(sizes))


@formula
def damping(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None = None,
    chamfer: Values | None = None,
) -> Values:
    """Return the damping c at low speed, N s/m.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `thickness` of the piston, `taper_to` and `chamfer` in m, `dynamic_viscosity` in Pa s, as
    for `hole_conductance`. Where sizes differ, `taper_to` belongs to the largest and the others
    taper in the same ratio. Return nan outside these ranges.
    Source: derived: A_n^2 over the sum of the holes' conductances.

    >>> round(damping(0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363), 3)
    45.959
    >>> round(damping(0.016, 0.0035, ((4, 0.0014),), 0.0025, 0.363, 0.0018), 2)
    75.87
    """
    swept = annulus_area(bore, shaft_diameter)
    sizes, ok = sizes_of(holes, thickness, dynamic_viscosity, taper_to, chamfer)
    return within(ok, swept * swept / conductance(sizes))


@formula
def kinetic(
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    density: Values,
    loss: Values = KINETIC_LOSS,
    taper_to: Values | None = None,
) -> Values:
    """Return the kinetic coefficient q of force = c v + q v |v|, N s^2/m^2.

    `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of one or more
    sizes; `density` in kg/m^3, above zero; `loss` K, zero or above; `taper_to` in m, above zero
    (None or nan for plain holes). Return nan outside that.
    Source: derived: A_n^3 K rho / (2 A^2), A the holes' whole area at their narrow face. Exact
    for holes of one size; for several it takes one speed in all of them, which `force` does not.

    At 2 m/s these holes need 288.58 N: 45.959 N s/m and q make it up.

    >>> q = kinetic(0.016, 0.0035, ((4, 0.0018),), 968.0)
    >>> round(45.959 * 2 + q * 2**2, 2)
    288.58
    """
    swept = annulus_area(bore, shaft_diameter)
    sizes, _, ok = narrow(holes, taper_to)
    speed_ratio = swept / total(area_of(*size) for size in sizes)
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
    chamfer: Values | None = None,
) -> Values:
    """Return the pressure across the piston at a flow through its holes, Pa; signed with the flow.

    `flow` in m^3/s; `holes` of one or more sizes, which share one pressure and each carry their
    own flow; `thickness` of the piston, `taper_to` and `chamfer` in m as for `hole_conductance`,
    `dynamic_viscosity` in Pa s and `density` in kg/m^3, above zero; `loss` K, zero or above. Return
    nan outside that.
    Source: derived: Hagen-Poiseuille, Sampson's end loss and a kinetic loss, solved for dp.

    The flow at 0.5 m/s, whose force is 35.271 N:

    >>> area = annulus_area(0.016, 0.0035)
    >>> round(area * pressure_drop(area * 0.5, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    35.271
    """
    sizes, ok = sizes_of(holes, thickness, dynamic_viscosity, taper_to, chamfer)
    ok = ok & finite(flow) & positive(density) & not_negative(loss)
    wanted = within(ok, np.abs(flow))
    kinetic_part = loss * density / 2.0
    if len(sizes) == 1:
        area, resistance = sizes[0]
        speed = wanted / area
        drop = speed * (resistance + kinetic_part * speed)
    else:
        drop = shared_drop(wanted, sizes, kinetic_part)
    return np.sign(flow) * drop


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
    chamfer: Values | None = None,
) -> Values:
    """Return the damping force at a shaft speed, N; signed with the speed.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; the rest as
    for `pressure_drop`. Takes no account of cavitation: see `cavitation_speed`. Return nan outside
    these ranges.
    Source: derived: A_n dp; above a Reynolds number of 5 in the holes within 15 % of flow solved on
    a mesh (ours, not published).

    >>> round(force(0.05, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    2.421
    >>> round(force(-2.0, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 2)
    -288.58
    """
    swept = annulus_area(bore, shaft_diameter)
    return swept * pressure_drop(
        swept * speed, holes, thickness, dynamic_viscosity, density, loss, taper_to, chamfer
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
    chamfer: Values | None = None,
) -> Values:
    """Return the shaft speed at which the kinetic force has grown as large as the viscous one, m/s.

    Arguments as for `force`; infinite when `loss` is zero. Return nan outside their ranges.
    Source: derived: c/q, with `damping` and `kinetic`.

    >>> round(pack_speed(0.016, 0.0035, ((8, 0.0013),), 0.0025, 0.363, 968.0), 2)
    1.71
    """
    viscous = damping(bore, shaft_diameter, holes, thickness, dynamic_viscosity, taper_to, chamfer)
    quadratic = kinetic(bore, shaft_diameter, holes, density, loss, taper_to)
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
    chamfer: Values | None = None,
) -> Values:
    """Return the shaft speed going in, m/s, at which the space behind the piston is drawn empty.

    `pressure` over the oil in Pa (absolute), above zero; the rest as for `force`. Faster than this
    the damper can cavitate and go slack on the way back; clean oil may bear being pulled, and then
    it does so later. Return nan outside these ranges.
    Source: derived: the speed whose force is p A_n. For holes of one size the root of
    c v + q v^2 = p A_n; for several, each carries its own flow at that pressure.

    >>> round(cavitation_speed(101325.0, 0.016, 0.0035, ((4, 0.0018),), 0.0025, 0.363, 968.0), 3)
    0.316
    """
    sizes, ok = sizes_of(holes, thickness, dynamic_viscosity, taper_to, chamfer)
    kinetic_part = loss * density / 2.0
    flow = total(
        area * hole_speed(pressure, resistance, kinetic_part) for area, resistance in sizes
    )
    ok = ok & positive(pressure, density) & not_negative(loss)
    return within(ok, flow / annulus_area(bore, shaft_diameter))


@formula
def reynolds(
    speed: Values,
    bore: Values,
    shaft_diameter: Values,
    holes: Holes,
    viscosity: Values,
    taper_to: Values | None = None,
) -> Values:
    """Return the Reynolds number in the holes at a shaft speed; laminar below about 2000.

    `speed` in m/s; `bore` and `shaft_diameter` in m, above zero, the bore the larger; `holes` of
    one or more sizes (with several: the largest, at the mean speed); kinematic `viscosity` in
    m^2/s, above zero; `taper_to` in m, above zero (None or nan for plain holes): at the narrow
    face, where it is the greater. Return nan outside that.
    Source: definition: V d / nu.

    >>> round(reynolds(2.0, 0.016, 0.0035, ((4, 0.0018),), 375e-6), 1)
    180.6
    """
    sizes, _, ok = narrow(holes, taper_to)
    area = total(area_of(*size) for size in sizes)
    through = np.abs(speed) * annulus_area(bore, shaft_diameter) / area
    return within(ok & finite(speed) & positive(viscosity), through * largest(sizes) / viscosity)


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
