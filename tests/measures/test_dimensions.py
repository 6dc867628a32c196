"""The dimension of every measure: in other units of length, mass and time it is the same figure.

Each reading is given in SI and again in units that are so many times as large or small; the figure
has to change as its own unit does. Temperatures stay in kelvin, for the laws of oil are fits to it.
"""

from __future__ import annotations

import inspect
from typing import Any

import numpy as np
import pytest

from buildlint.measures import MEASURES
from buildlint.measures.graph import FUNCTIONS
from buildlint.measures.marks import EMULSION, SEALED

# Powers of length, mass and time.
_LENGTH, _AREA_PER_TIME, _VOLUME = (1, 0, 0), (2, 0, -1), (3, 0, 0)
_PRESSURE, _DENSITY, _RATE, _PURE = (-1, 1, -2), (-3, 1, 0), (0, 1, -2), (0, 0, 0)

#: What each parameter is: its value in SI, and its powers.
GIVEN: dict[str, tuple[float, tuple[int, int, int]]] = {
    **dict.fromkeys(("hold_back", "limiter", "collar"), (6e-3, _LENGTH)),
    "planned_hold_back": (6.4e-3, _LENGTH),
    "length": (0.104, _LENGTH),
    "planned_length": (0.103, _LENGTH),
    **dict.fromkeys(("travel", "stroke", "stroke_left"), (28e-3, _LENGTH)),
    **dict.fromkeys(("seat_gap", "free_length"), (70e-3, _LENGTH)),
    "bore": (16e-3, _LENGTH),
    "piston_diameter": (15.8e-3, _LENGTH),
    "largest_piston": (15.9e-3, _LENGTH),
    **dict.fromkeys(("bladder_bore", "mean_diameter", "solid_length"), (15e-3, _LENGTH)),
    **dict.fromkeys(("neutral_point", "smallest_hold_back", "sag"), (8e-3, _LENGTH)),
    "largest_hold_back": (20e-3, _LENGTH),
    "planned_collar": (2e-3, _LENGTH),
    "shaft_diameter": (3.5e-3, _LENGTH),
    "piston_thickness": (2.5e-3, _LENGTH),
    "taper_to": (1.6e-3, _LENGTH),
    "chamfer": (0.2e-3, _LENGTH),
    "wire": (1.4e-3, _LENGTH),
    **dict.fromkeys(("growth", "air_change", "into_cap_need"), (0.1e-6, _VOLUME)),
    **dict.fromkeys(("air", "emulsion_need", "into_body_need"), (0.2e-6, _VOLUME)),
    **dict.fromkeys(("bladder_into_cap", "bladder_into_body"), (0.5e-6, _VOLUME)),
    **dict.fromkeys(("room_into_cap", "room_into_body"), (0.45e-6, _VOLUME)),
    "gas_volume": (1.1e-6, _VOLUME),
    "oil_volume": (9e-6, _VOLUME),
    **dict.fromkeys(("pressure", "bench_pressure", "flow_pressure"), (9e4, _PRESSURE)),
    "shear_modulus": (81.5e9, _PRESSURE),
    "dynamic_viscosity": (0.4, (-1, 1, -1)),
    "viscosity": (450e-6, _AREA_PER_TIME),
    "viscosity_given": (450e-6, _AREA_PER_TIME),
    "blend_viscosity": (400e-6, _AREA_PER_TIME),
    "second_viscosity": (215e-6, _AREA_PER_TIME),
    **dict.fromkeys(("density", "oil_density"), (968.0, _DENSITY)),
    **dict.fromkeys(("rate_given", "spring_rate", "wheel_rate"), (850.0, _RATE)),
    "damping": (46.0, (0, 1, -1)),
    "corner_mass": (0.8, (0, 1, 0)),
    **dict.fromkeys(("temperature", "hottest", "second_viscosity_at"), (311.0, _PURE)),
    **dict.fromkeys(("bench_temperature", "coldest"), (289.0, _PURE)),
    "viscosity_given_at": (298.15, _PURE),
    **dict.fromkeys(("viscosity_slope", "blend_slope", "slope_given"), (1757.0, _PURE)),
    "expansion": (9.7e-4, _PURE),
    **dict.fromkeys(("rebound", "motion_ratio"), (0.6, _PURE)),
    "planned_rebound": (0.5, _PURE),
    "coils": (6.0, _PURE),
    "cap": (SEALED, _PURE),
    "style": (EMULSION, _PURE),
}

#: The powers of what a measure gives, by its unit; of those that are none of the vocabulary.
RESULT = {
    **dict.fromkeys(("1", "day"), _PURE),
    "mm": _LENGTH,
    "mm^3": _VOLUME,
    "cSt": _AREA_PER_TIME,
    "kPa": _PRESSURE,
    "N s/m": (0, 1, -1),
    "N/mm": _RATE,
    "Hz": (0, 0, -1),
    "m/s": (1, 0, -1),
}
UNLISTED = {
    **dict.fromkeys(("growth", "air_change", "emulsion_need", "room_into_body"), _VOLUME),
    "room_into_cap": _VOLUME,
    "viscosity_slope": _PURE,
    "flow_pressure": _PRESSURE,
    "travel": _LENGTH,
    "dynamic_viscosity": (-1, 1, -1),
    "oil_density": _DENSITY,
}

#: What stands on a figure in fixed units, and which.
FIXED = {
    "pressure": "the standard atmosphere goes by metres",
    "bench_pressure": "the standard atmosphere goes by metres",
    "road_use": "the standard atmosphere goes by metres",
    "after_flight_use": "the cabin's pressure",
    "quick_force": "0.5 m/s",
    "sag": "the weight of a mass on earth",
    "days_before_event": "dates",
}


def _argument(name: str, size: tuple[float, float, float]) -> Any:
    if name == "holes":
        return ((np.full((1, 3, 1), 4.0), np.full((1, 3, 1), 1.8e-3 * size[0])),)
    value, powers = GIVEN[name]
    scale = np.prod([each**power for each, power in zip(size, powers, strict=True)])
    return np.full((1, 3, 1), value * scale)


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name not in FIXED])
def test_in_other_units_it_is_the_same_figure(name: str):
    function, figures = FUNCTIONS[name], []
    for size in ((1.0, 1.0, 1.0), (7.0, 0.3, 1.9)):
        given = {each: _argument(each, size) for each in inspect.signature(function).parameters}
        figures.append(np.ravel(np.asarray(function(**given), dtype=float))[0])
    powers = RESULT[MEASURES[name].unit] if name in MEASURES else UNLISTED[name]
    scale = 7.0 ** powers[0] * 0.3 ** powers[1] * 1.9 ** powers[2]
    assert np.isfinite(figures[0]) and figures[0] != 0.0
    assert figures[1] == pytest.approx(figures[0] * scale, rel=1e-9)


def test_what_is_left_out_is_a_measure():
    assert set(FIXED) <= set(FUNCTIONS)
