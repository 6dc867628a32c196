"""The damper whose check values stand in physics.md."""

from __future__ import annotations

from typing import Any

from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin
from tests.making import BENCH


def damper(end: str = "front", side: str = "left", **figures: Any) -> Damper:
    """The damper of physics.md, sections 5 and 7, each reading on a place of its own."""
    sheet: dict[str, Any] = {
        "bore": 16e-3,
        "shaft_diameter": 3.5e-3,
        "holes": ((4, 1.8e-3),),
        "piston_thickness": 2.5e-3,
        "viscosity_given": 375e-6,
        "viscosity_given_at": 298.15,
        "slope_given": 1757.0,
        "density": 968.0,
        "expansion": 9.6e-4,
        "spring_rate": 850.0,
        "corner_mass": 0.8,
        "motion_ratio": 0.65,
        "bench_temperature": 298.15,
        "bench_altitude": 0.0,
    }
    spread = figures.pop("spread", {})
    made = {**sheet, **figures}
    origin = {name: Origin(BENCH, (end, side, name)) for name in made}
    return Damper(end=end, side=side, **made, spread=spread, origin=origin)
