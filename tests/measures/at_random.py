"""Cars at random from a seed, and their measures worked out by themselves: readings in, figure out.

Nothing of the arrays, of what is moved or of what is shared is taken from the package here: only
the functions of the measures are.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from buildlint.measures.damper import CORNERS, Damper
from buildlint.measures.graph import AT, CONDITIONS, FUNCTIONS, parameters
from buildlint.measures.origin import Origin

#: Each reading with its least and most, and half the width of its tolerance.
READINGS = {
    "bore": (12e-3, 18e-3, 0.02e-3),
    "stroke": (28e-3, 45e-3, 0.1e-3),
    "oil_volume": (4e-6, 12e-6, 0.6e-6),
    "gas_volume": (600e-9, 1500e-9, 80e-9),
    "shaft_diameter": (3e-3, 4e-3, 0.02e-3),
    "piston_thickness": (2e-3, 4e-3, 0.1e-3),
    "bladder_into_body": (300e-9, 900e-9, 40e-9),
    "bladder_into_cap": (300e-9, 900e-9, 40e-9),
    "viscosity_given": (200e-6, 800e-6, 20e-6),
    "viscosity_given_at": (297.0, 299.0, 0.5),
    "slope_given": (1690.0, 1830.0, 30.0),
    "density": (950.0, 980.0, 5.0),
    "expansion": (9e-4, 10e-4, 0.3e-4),
    "spring_rate": (500.0, 1200.0, 30.0),
    "free_length": (60e-3, 80e-3, 0.1e-3),
    "solid_length": (15e-3, 25e-3, 0.1e-3),
    "corner_mass": (0.6, 1.2, 0.03),
    "motion_ratio": (0.55, 0.8, 0.015),
    "seat_gap": (70e-3, 90e-3, 0.1e-3),
    "hold_back": (4e-3, 14e-3, 0.3e-3),
    "limiter": (1e-3, 5e-3, 0.1e-3),
    "collar": (2e-3, 6e-3, 0.1e-3),
    "length": (100e-3, 125e-3, 0.1e-3),
    "air": (50e-9, 200e-9, 8e-9),
    "bench_temperature": (290.0, 294.0, 2.0),
    "bench_altitude": (0.0, 800.0, 20.0),
    "coldest": (275.0, 284.0, 2.0),
    "hottest": (302.0, 315.0, 2.0),
    "event_altitude": (1000.0, 2200.0, 20.0),
    "highest": (1000.0, 2600.0, 20.0),
}
HOLE = (1.2e-3, 1.8e-3, 0.02e-3)

#: What all four dampers have in common: one bottle of oil, one bench, one event.
OIL = ("viscosity_given", "viscosity_given_at", "slope_given", "density", "expansion")
OF_ALL = (*OIL, "bench_temperature", "bench_altitude")
OF_ALL += ("coldest", "hottest", "event_altitude", "highest")
#: What one end has in common, written once for both sides.
OF_AN_END = ("corner_mass", "motion_ratio", "seat_gap", "collar", "limiter")
#: What both sides have by the same line in the drawers, and each a piece of its own.
IN_PIECES = ("bore", "stroke", "oil_volume", "gas_volume", "shaft_diameter", "piston_thickness")
IN_PIECES += ("bladder_into_body", "bladder_into_cap", "spring_rate", "free_length", "holes")
IN_PIECES += ("solid_length",)

#: Readings that are never below nothing.
FROM_NOTHING = ("hold_back", "limiter", "collar", "air")

_FILE = Path("/nowhere/random.build.toml")
Key = tuple[str, ...]
Work = Callable[[str, str], Any]


def key_of(name: str, end: str, side: str) -> Key:
    """Tell which reading it is: the same key in two dampers is one and the same reading."""
    if name in OF_ALL:
        return (name,)
    return (end, name) if name in OF_AN_END else (end, side, name)


class Car:
    """Four dampers, and every reading of theirs by its key with the half of its tolerance."""

    def __init__(self, seed: int, scale: float = 1.0, **fixed: tuple[float, float, float]) -> None:
        """Draw a car; `scale` widens or narrows all tolerances, `fixed` replaces ranges."""
        chance = random.Random(seed)
        self.sealed = chance.random() < 0.3
        self.count = chance.choice((4, 6, 8))
        self.value: dict[Key, float] = {}
        self.half: dict[Key, float] = {}
        drawn: dict[Key, float] = {}
        ranges = {**READINGS, "holes": HOLE, **fixed}
        for end, side in CORNERS:
            for name, (least, most, half) in ranges.items():
                key = key_of(name, end, side)
                at = (end, name) if name in IN_PIECES else key  # one line, two pieces
                drawn.setdefault(at, chance.uniform(least, most))
                self.value[key] = drawn[at]
                self.half[key] = half * scale
        self.dampers = [self._damper(end, side, ranges) for end, side in CORNERS]

    def _damper(self, end: str, side: str, names: Mapping[str, Any]) -> Damper:
        figures: dict[str, Any] = {}
        spread: dict[str, tuple[Any, Any]] = {}
        origin: dict[str, Origin] = {}
        for name in names:
            key = key_of(name, end, side)
            value, half = self.value[key], self.half[key]
            figures[name], ends = value, (value - half, value + half)
            if name in FROM_NOTHING:
                ends = (max(ends[0], 0.0), ends[1])
            if name == "holes":
                figures[name] = ((self.count, value),)
                spread[name] = tuple(((self.count, each),) for each in ends)
            elif half:
                spread[name] = ends
            origin[name] = Origin(_FILE, (end, name) if name in IN_PIECES else key)
        cap = "sealed" if self.sealed else "vented"
        words: dict[str, Any] = {"cap": cap, "event": "quarry", "arrive_by": "road"}
        return Damper(end=end, side=side, **words, **figures, spread=spread, origin=origin)

    def working(self, corner: int, readings: Mapping[Key, Any]) -> Work:
        """Return what works out a measure of one damper, with all readings as they are here."""
        end, side = CORNERS[corner]
        given = {n: readings[key_of(n, end, side)] for n in (*READINGS, "holes")}
        given["holes"] = ((self.count, given["holes"]),)
        given["cap"], given["style"] = float(self.sealed), 0.0
        known: dict[str, Any] = {}

        def work(name: str, condition: str) -> Any:
            found = _work(name, given, known)
            return found[CONDITIONS.index(condition) if len(found) > 1 else 0]

        return work

    def sampled(self, count: int, seed: int) -> dict[Key, Any]:
        """Draw every reading so many times, anywhere within its tolerance alike."""
        chance = np.random.default_rng(seed)
        found = {}
        for key, value in self.value.items():
            least = value - self.half[key]
            if key[-1] in FROM_NOTHING:
                least = max(least, 0.0)
            found[key] = chance.uniform(least, value + self.half[key], count)
        return found


def _work(name: str, given: Mapping[str, Any], known: dict[str, Any]) -> Any:
    """Work a function out, along an axis of conditions."""
    if name in known:
        return known[name]
    if name in AT:
        found = np.array([given[each] for each in AT[name]])
    elif name not in FUNCTIONS:
        found = given.get(name, np.nan)
        found = found if name == "holes" else np.asarray(found)[None]
    else:
        function = FUNCTIONS[name]
        arguments = [_work(each, given, known) for each in parameters(function)[0]]
        if "at_every_condition" in function.__dict__:  # its axis of conditions is the second
            found = function(*(np.asarray(each)[None] for each in arguments))[0]
        else:
            found = np.asarray(function(*arguments))
        if "since_bench" in function.__dict__:
            found = np.where(np.arange(3).reshape(3, *[1] * (found.ndim - 1)) == 0, 0.0, found)
    known[name] = found
    return found
