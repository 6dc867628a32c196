"""A piston's holes: what the formulas of flow are made with. See `flow` for what they take."""

import math
from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np

from buildlint.physics.values import Mask, Values, formula, not_negative, positive, within

Holes: TypeAlias = Sequence[tuple[Values, Values]]
"""Piston holes: a count and a diameter in m for each size."""

CHAMFER_SHARE = 0.85
"""How much a broken edge takes off the hole's length at a face, as a share of its width.

Ours, not published: a fit to flow solved on a mesh, 0.3 mm at one face and at both of a 1.8 mm
hole 2.5 mm long.
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


def present(holes: Holes) -> tuple[list[tuple[Values, Values]], Mask]:
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


def area_of(count: Values, diameter: Values) -> Values:
    """Return the area of so many holes."""
    return count * math.pi / 4.0 * diameter * diameter


def largest(sizes: Sequence[tuple[Values, Values]]) -> Values:
    """Return the largest diameter."""
    found: Values = 0.0
    for _, diameter in sizes:
        found = np.maximum(found, diameter)
    return found


def narrow(
    holes: Holes, taper_to: Values | None
) -> tuple[list[tuple[Values, Values]], Values, Mask]:
    """Return the holes at their narrow face, narrow over wide, and where there can be such.

    One ratio for every size.
    """
    sizes, ok = present(holes)
    if taper_to is None:
        return sizes, np.float64(1.0), ok
    plain = np.isnan(taper_to)
    ratio = np.where(plain, 1.0, taper_to / largest(sizes))
    least = np.minimum(ratio, 1.0)
    narrowed: list[tuple[Values, Values]] = [(count, size * least) for count, size in sizes]
    return narrowed, np.minimum(ratio, 1.0 / ratio), ok & (plain | positive(taper_to))


def sizes_of(
    holes: Holes,
    thickness: Values,
    dynamic_viscosity: Values,
    taper_to: Values | None,
    chamfer: Values | None,
) -> tuple[list[tuple[Values, Values]], Mask]:
    """Return area and resistance dp/V at low speed, for each size of hole, and where all can be.

    Both are at the narrow face.
    """
    faces, ratio, ok = narrow(holes, taper_to)
    ok = ok & positive(thickness, dynamic_viscosity)
    length = thickness
    if chamfer is not None:
        broken = np.where(np.isnan(chamfer), 0.0, chamfer)
        length = length - 2.0 * CHAMFER_SHARE * broken
        ok = ok & not_negative(broken) & positive(length)
    along = length * taper_factor(ratio, np.float64(1.0))
    sizes = []
    for count, diameter in faces:
        passage = along + 3.0 * math.pi / 32.0 * diameter * (1.0 + ratio * ratio * ratio)
        resistance = 32.0 * dynamic_viscosity * passage / (diameter * diameter)
        sizes.append((area_of(count, diameter), resistance))
    return sizes, ok


def conductance(sizes: Sequence[tuple[Values, Values]]) -> Values:
    """Return the flow per pressure at low speed, of areas and resistances."""
    return total(area / resistance for area, resistance in sizes)


def total(values: Iterable[Values]) -> Values:
    """Return the sum; of nothing numpy's zero, by which a number can be divided."""
    return sum(values, start=np.float64(0.0))


def hole_speed(drop: Values, resistance: Values, kinetic_part: Values) -> Values:
    """Return the root V of resistance V + kinetic_part V^2 = drop, so that no digits cancel."""
    root = np.sqrt(resistance * resistance + 4.0 * kinetic_part * drop)
    return 2.0 * drop / (resistance + root)


def shared_drop(
    wanted: Values, sizes: Sequence[tuple[Values, Values]], kinetic_part: Values
) -> Values:
    """Return the pressure at which holes of several sizes together carry the flow wanted."""
    speed = wanted / total(area for area, _ in sizes)
    # Each loss alone would need less than both together, so the start lies below the answer. The
    # flow rises with pressure ever more slowly, so Newton's steps climb to it and never pass it.
    drop = np.maximum(wanted / conductance(sizes), kinetic_part * speed * speed)
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
