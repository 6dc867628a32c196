"""The dimension of every formula, by pint: dimensioned arguments in, the unit that it says out.

Lengths are given in mm, volumes in ml, pressures in kPa: a formula that mixes two of them up, or
adds what cannot be added, is refused by pint, and the figure is that of plain numbers in SI.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import numpy as np
import pint
import pytest

from buildlint.physics import displacement, flow, gas, holes, oil, ride, spring, values

UNITS = pint.UnitRegistry()
Q = UNITS.Quantity

#: What each parameter is, by its name, in some unit of its own.
GIVEN: dict[str, Any] = {
    **dict.fromkeys(("diameter", "wire", "shaft_diameter", "other_diameter"), (3.5, "mm")),
    **dict.fromkeys(("bore", "piston_diameter", "mean_diameter"), (16.0, "mm")),
    **dict.fromkeys(("travel", "stroke", "radius", "other_radius"), (30.0, "mm")),
    **dict.fromkeys(("hold_back", "depth", "preload"), (6.0, "mm")),
    "thickness": (2.5, "mm"),
    "clearance": (0.05, "mm"),
    **dict.fromkeys(("growth", "air_change", "into_cap_need"), (0.1, "ml")),
    **dict.fromkeys(("room_into_body", "room_into_cap", "gas", "gas_volume"), (0.4, "ml")),
    "oil_volume": (9.0, "ml"),
    "air": (0.2, "ml"),
    "taken": (0.05, "ml"),
    **dict.fromkeys(("at", "bench_temperature"), (289.0, "K")),
    **dict.fromkeys(("temperature", "second_at"), (310.0, "K")),
    "temperature_change": (20.0, "K"),
    "slope": (1757.0, "K"),
    **dict.fromkeys(("expansion", "body_expansion"), (9.7e-4, "1/K")),
    **dict.fromkeys(("pressure", "bench_pressure", "inside"), (101.0, "kPa")),
    **dict.fromkeys(("outside", "lower_pressure", "pressure_drop"), (79.5, "kPa")),
    "viscosity": (450.0, "mm^2/s"),
    "second_viscosity": (200.0, "mm^2/s"),
    "dynamic_viscosity": (0.363, "Pa*s"),
    "density": (0.968, "g/cm^3"),
    "flow": (2.0, "ml/s"),
    "speed": (0.5, "m/s"),
    "rate": (0.85, "N/mm"),
    "shear_modulus": (81.5, "GPa"),
    "mass": (800.0, "g"),
    "damping": (45.959, "N*s/m"),
    **dict.fromkeys(("count", "coils"), (6.0, "")),
    **dict.fromkeys(("rebound", "motion_ratio", "ostwald"), (0.6, "")),
    "loss": (1.5, ""),
    "exponent": (1.0, ""),
}

#: What a formula gives, where its module's formulas do not all give one kind of thing.
RESULT = {
    "area": "m^2",
    "volume": "m^3",
    **dict.fromkeys(("swing_into_cap", "swing_into_body", "need_into_cap", "cup_room"), "m^3"),
    **dict.fromkeys(("need_into_body", "sealed_in", "growth", "air_change", "freed_air"), "m^3"),
    **dict.fromkeys(("smallest_hold_back", "largest_hold_back", "neutral_point", "sag"), "m"),
    **dict.fromkeys(("void_stroke", "solid_length"), "m"),
    **dict.fromkeys(("viscosity_at", "kinematic"), "m^2/s"),
    "slope_from_two_points": "K",
    "density_at": "kg/m^3",
    "dynamic": "Pa*s",
    **dict.fromkeys(("sealed_pressure", "pressure_drop"), "Pa"),
    **dict.fromkeys(("push_out_force", "force"), "N"),
    "hole_conductance": "m^3/s/Pa",
    **dict.fromkeys(("damping", "wheel_damping", "critical_damping"), "N*s/m"),
    **dict.fromkeys(("pack_speed", "cavitation_speed"), "m/s"),
    "leak_flow": "m^3/s",
    **dict.fromkeys(("wire_rate", "wheel_rate"), "N/m"),
    "natural_frequency": "Hz",
    **dict.fromkeys(("reynolds", "taper_factor", "damping_ratio"), ""),
}
#: Of `flow`, q of q v^2 has the name of a part.
RESULT_IN_FULL = {"flow.kinetic": "N*s^2/m^2"}

#: Fits to figures in units of their own: numbers in, numbers out; and shares of no dimension.
FITS = {
    *("oil.slope_from_vtc", "oil.petroleum_viscosity", "oil.saybolt_seconds"),
    *("oil.viscosity_from_saybolt", "oil.blend_viscosity", "oil.blend_tolerance"),
    *("oil.blend_mean", "gas.standard_pressure"),
}

FORMULAS: dict[str, Callable[..., Any]] = {
    f"{module.__name__.rpartition('.')[2]}.{name}": found
    for module in (displacement, flow, gas, holes, oil, ride, spring)
    for name, found in vars(module).items()
    if hasattr(found, "__wrapped__") and found.__module__ == module.__name__
}


def unit_of(formula: str) -> str:
    name = formula.partition(".")[2]
    endings = (RESULT[end] for end in RESULT if name == end or name.endswith(f"_{end}"))
    return RESULT_IN_FULL.get(formula) or next(endings)


@pytest.mark.parametrize("name", sorted(FORMULAS.keys() - FITS))
def test_a_formula_gives_the_unit_that_it_says(name: str, monkeypatch: pytest.MonkeyPatch):
    formula = FORMULAS[name]
    given: dict[str, Any] = {
        each: (
            [(Q(np.array([4.0]), ""), Q(np.array([1.8]), "mm"))]
            if each == "holes"
            else Q(np.array([GIVEN[each][0]]), GIVEN[each][1])
        )
        for each in inspect.signature(formula).parameters
        if each not in ("taper_to", "chamfer", "eccentric")
    }
    if name == "spring.wire_rate":
        given["wire"] = Q(np.array([1.6]), "mm")
    plain = {
        each: [tuple(part.to_base_units().magnitude for part in hole) for hole in value]
        if each == "holes"
        else value.to_base_units().magnitude
        for each, value in given.items()
    }
    expected = formula(**plain)
    # formulas make plain numbers of what they are given; ranges do not count here
    monkeypatch.setattr(values, "_numbers", lambda each: each)
    for module in (displacement, flow, gas, holes, oil, ride, spring):
        for check in ("positive", "not_negative", "finite"):
            monkeypatch.setattr(module, check, lambda *_: True, raising=False)
        monkeypatch.setattr(module, "within", lambda _, found: found, raising=False)
    monkeypatch.setattr(oil, "REFERENCE_TEMPERATURE", Q(oil.REFERENCE_TEMPERATURE, "K"))
    monkeypatch.setattr(ride, "STANDARD_GRAVITY", Q(ride.STANDARD_GRAVITY, "m/s^2"))
    found = formula(**given)
    in_unit = (found if hasattr(found, "to") else Q(found, "")).to(unit_of(name))
    assert np.isfinite(expected).all()
    assert in_unit.magnitude == pytest.approx(expected, rel=1e-9)
