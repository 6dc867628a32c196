"""Every formula on arrays: the same as on floats, element by element, and never a warning."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.random import Generator

from buildlint.physics import displacement, flow, gas, oil, ride, spring

MODULES = (displacement, flow, gas, oil, ride, spring)
FORMULAS: dict[str, Callable[..., Any]] = {
    f"{module.__name__}.{name}": found
    for module in MODULES
    for name, found in vars(module).items()
    if inspect.isfunction(found)
    and found.__module__ == module.__name__
    and not name.startswith("_")
}

# Least and most of each parameter, in SI units.
LENGTHS = {
    "bore": (0.010, 0.020),
    "shaft_diameter": (0.002, 0.005),
    "diameter": (0.5e-3, 3e-3),
    "other_diameter": (0.5e-3, 3e-3),
    "taper_to": (0.5e-3, 3e-3),
    "chamfer": (0.0, 0.5e-3),
    "piston_diameter": (0.010, 0.020),
    "clearance": (0.0, 2e-4),
    "thickness": (1e-3, 5e-3),
    "travel": (-0.05, 0.05),
    "stroke": (0.0, 0.05),
    "hold_back": (-0.01, 0.05),
    "radius": (1e-3, 0.01),
    "other_radius": (0.0, 0.01),
    "depth": (0.0, 0.01),
    "preload": (-0.05, 0.05),
    "wire": (1e-3, 3e-3),
    "mean_diameter": (2e-3, 0.03),
    "altitude": (-1000.0, 12000.0),
}
VOLUMES = {
    "growth": (-5e-7, 5e-7),
    "air_change": (-5e-7, 5e-7),
    "room_into_body": (0.0, 1e-6),
    "room_into_cap": (0.0, 1e-6),
    "into_cap_need": (0.0, 1e-6),
    "air": (0.0, 1e-6),
    "gas_volume": (1e-7, 1e-6),
    "taken": (-1e-6, 1e-6),
    "oil_volume": (0.0, 1e-5),
}
PRESSURES = dict.fromkeys(
    ("pressure", "bench_pressure", "lower_pressure", "inside", "outside"), (2e4, 2e5)
)
TEMPERATURES = dict.fromkeys(
    ("temperature", "bench_temperature", "at", "second_at"), (253.0, 353.0)
)
OTHERS = {
    "temperature_change": (-60.0, 60.0),
    "viscosity": (2e-6, 5e-3),
    "second_viscosity": (2e-6, 5e-3),
    "viscosities": (2e-6, 5e-3),
    "dynamic_viscosity": (0.02, 2.0),
    "density": (800.0, 1100.0),
    "slope": (1500.0, 1900.0),
    "figures": (1500.0, 1900.0),
    "vtc": (0.0, 1.0),
    "seconds": (20.0, 3000.0),
    "expansion": (0.0, 2e-3),
    "body_expansion": (0.0, 3e-5),
    "shares": (0.0, 5.0),
    "count": (1.0, 9.0),
    "loss": (0.0, 2.25),
    "rebound": (0.0, 1.0),
    "flow": (-1e-4, 1e-4),
    "speed": (-5.0, 5.0),
    "pressure_drop": (-1e5, 1e5),
    "exponent": (1.0, 1.4),
    "ostwald": (0.0, 0.3),
    "rate": (100.0, 5000.0),
    "motion_ratio": (0.3, 1.5),
    "mass": (0.2, 10.0),
    "damping": (0.0, 100.0),
    "coils": (2.0, 20.0),
    "shear_modulus": (7e10, 9e10),
}
RANGES = {**LENGTHS, **VOLUMES, **PRESSURES, **TEMPERATURES, **OTHERS}
STRANGE = (0.0, -1.0, math.nan, math.inf, -math.inf, 1e300, -1e300, 1e-300)


def drawn(random: Generator, name: str, shape: tuple[int, ...], strange: float) -> Any:
    """Give random values of a parameter, some of them out of its range."""
    if name == "holes":
        sizes = []
        for _ in range(2):
            count = np.floor(drawn(random, "count", shape, strange))
            count = np.where(random.random(shape) < 0.3, 0.0, count)
            sizes.append((count, drawn(random, "diameter", shape, strange)))
        return tuple(sizes)
    if name == "eccentric":
        return True
    if name in ("shares", "viscosities", "figures"):
        least, most = RANGES[name]
        return tuple(
            np.where(
                random.random(shape) < strange,
                random.choice(STRANGE, shape),
                random.uniform(least, most, shape),
            )
            for _ in range(3)
        )
    values = random.uniform(*RANGES[name], shape)
    return np.where(random.random(shape) < strange, random.choice(STRANGE, shape), values)


def each(argument: Any, change: Callable[[Any], Any]) -> Any:
    """Change every array of an argument."""
    if isinstance(argument, tuple):
        return tuple(each(part, change) for part in argument)
    return change(argument) if isinstance(argument, np.ndarray) else argument


@pytest.mark.parametrize("name", FORMULAS)
def test_an_array_gives_what_each_of_its_numbers_gives(name: str) -> None:
    formula = FORMULAS[name]
    random = np.random.default_rng(20)
    arguments = [drawn(random, p, (400,), 0.05) for p in inspect.signature(formula).parameters]
    found = formula(*arguments)
    alone = [formula(*each(tuple(arguments), lambda a, i=i: float(a[i]))) for i in range(400)]
    assert all(type(value) is float for value in alone)
    np.testing.assert_allclose(found, alone, rtol=1e-12)
    assert 4 < np.isfinite(found).sum() < 400
    assert np.isnan(found).any()


@pytest.mark.parametrize("name", FORMULAS)
def test_shapes_broadcast(name: str) -> None:
    formula = FORMULAS[name]
    random = np.random.default_rng(21)
    arguments = [
        drawn(random, parameter, ((5, 1), (7,))[number % 2], 0.0)
        for number, parameter in enumerate(inspect.signature(formula).parameters)
    ]
    whole = formula(*each(tuple(arguments), lambda a: np.broadcast_to(a, (5, 7))))
    found = formula(*arguments)
    assert np.ndim(found) > 0 and np.isfinite(found).any()
    np.testing.assert_allclose(np.broadcast_to(found, (5, 7)), whole, rtol=1e-12)


@pytest.mark.parametrize("name", FORMULAS)
def test_a_reading_that_is_missing_gives_nan(name: str) -> None:
    formula = FORMULAS[name]
    parameters = list(inspect.signature(formula).parameters)
    arguments = [drawn(np.random.default_rng(22), p, (), 0.0) for p in parameters]
    for number, parameter in enumerate(parameters):
        if parameter not in ("eccentric", "taper_to", "chamfer"):  # of nan there is none
            missing = list(arguments)
            missing[number] = each(arguments[number], lambda _: math.nan)
            assert math.isnan(formula(*missing)), parameter
