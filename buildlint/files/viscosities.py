"""Viscosities of an oil, in whatever unit they are read, as kinematic ones."""

from __future__ import annotations

from math import isnan

from buildlint.files.readings import Reading
from buildlint.files.unit_sizes import SIZES
from buildlint.physics import oil

__all__ = ["Three", "kinematic"]

#: As read, least and most.
Three = tuple[float, float, float]


def kinematic(
    viscosity: Reading | None,
    at: Reading | None,
    density: Reading | None,
    expansion: Reading | None,
) -> Three | None:
    """Give a viscosity in m^2/s; None where it cannot be had.

    Saybolt seconds need their temperature, a dynamic viscosity the oil's density at 25 degC.
    """
    if viscosity is None:
        return None
    three = viscosity[:3]
    if viscosity.unit == "SUS":
        if at is None:
            return None
        found = [float(oil.viscosity_from_saybolt(s, at.value)) for s in three]
    elif viscosity.unit in SIZES["dynamic viscosity"]:
        if density is None:
            return None
        temperature = at.value if at is not None else oil.REFERENCE_TEMPERATURE
        grows = expansion.value if expansion is not None else oil.SILICONE_EXPANSION
        as_read, least, most = (oil.density_at(d, temperature, grows) for d in density[:3])
        densities = (as_read, most, least)
        pairs = zip(three, densities, strict=True)
        found = [float(oil.kinematic(dynamic, dense)) for dynamic, dense in pairs]
    else:
        return three
    value, low, high = found
    # where one cannot be had, the file's own finding says what is wrong
    return None if any(map(isnan, found)) else (value, low, high)
