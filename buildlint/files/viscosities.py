"""Viscosities of an oil, in whatever unit they are read, as kinematic ones."""

from __future__ import annotations

from math import isnan

from buildlint.files.derived import Three, derived
from buildlint.files.readings import Reading
from buildlint.files.unit_sizes import SIZES
from buildlint.physics import oil

__all__ = ["kinematic"]


def kinematic(
    viscosity: Reading | None,
    at: Reading | None,
    density: Reading | None,
    expansion: Reading | None,
) -> Three | None:
    """Return a viscosity in m^2/s; None where it cannot be had.

    Saybolt seconds need their temperature, a dynamic viscosity the oil's density at 25 degC.
    """
    if viscosity is None:
        return None
    three: Three = viscosity[:3]
    if viscosity.unit == "SUS":
        if at is None:
            return None
        found = derived(lambda s: float(oil.viscosity_from_saybolt(s, at.value)), three)
    elif viscosity.unit in SIZES["dynamic viscosity"]:
        if density is None:
            return None
        temperature = at.value if at is not None else oil.REFERENCE_TEMPERATURE
        grows = expansion.value if expansion is not None else oil.SILICONE_EXPANSION

        def divided(dynamic: float, dense: float) -> float:
            return float(oil.kinematic(dynamic, oil.density_at(dense, temperature, grows)))

        found = derived(divided, three, density[:3])
    else:
        return three
    # where it cannot be had, the file's own finding says what is wrong
    return None if any(map(isnan, found)) else found
