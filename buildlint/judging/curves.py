"""What the plots of a build show, as points: the same measures, worked out at many values.

Figures are SI and as read; where a line cannot be worked out, it is said what is missing for it.
Nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import ceil, isfinite

import numpy as np

from buildlint.judging.values import conditions_of, lacking, value_of, values_at
from buildlint.measures.damper import Damper
from buildlint.physics import flow
from buildlint.physics.displacement import annulus_area

__all__ = [
    "Curve",
    "ForceCurve",
    "Forces",
    "Missing",
    "Room",
    "Thinning",
    "forces",
    "room",
    "thinning",
]

Point = tuple[float, float]

#: Spaces between points along an axis.
STEPS = 60


@dataclass(frozen=True, slots=True)
class Missing:
    """Nothing can be drawn: what is missing for it."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """Points of a figure at one condition."""

    condition: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Room:
    """Use of the bladder's room each way, for every hold-back that the stroke left allows.

    `smallest` and `largest` hold-back bound the window, at all conditions together.
    """

    into_body: tuple[Curve, ...]
    into_cap: tuple[Curve, ...]
    stroke_left: float
    smallest: float
    largest: float

    @property
    def window(self) -> Point | None:
        """The hold-backs that keep both uses within the room, as read; None where none does."""
        least, most = max(self.smallest, 0.0), min(self.largest, self.stroke_left)
        return (least, most) if least <= most else None


@dataclass(frozen=True, slots=True)
class Thinning:
    """Viscosity against temperature; `marks` are the temperatures of the conditions known."""

    points: tuple[Point, ...]
    marks: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class ForceCurve:
    """Force against shaft speed at one condition; going in is above zero, going out below.

    Past `speed` the oil can cavitate going in: the force stays at `ceiling`.
    """

    condition: str
    points: tuple[Point, ...]
    speed: float
    ceiling: float


@dataclass(frozen=True, slots=True)
class Forces:
    """Force against shaft speed both ways, up to `fastest`; past `rough` it is within 15 %."""

    curves: tuple[ForceCurve, ...]
    fastest: float
    rough: float
    missing: tuple[str, ...] = ()


def room(damper: Damper) -> Room | Missing:
    """Return the use of the bladder's room both ways against hold-back; none need be planned.

    >>> from buildlint.team.assembly import dampers
    >>> from buildlint.team.selection import find_build
    >>> team, path = find_build("examples/saltmarsh/builds/heron-quarry.build.toml")
    >>> found = room(dampers(team, team.file(path))[0])
    >>> [curve.condition for curve in found.into_cap], round(found.stroke_left, 3)
    (['bench', 'cold', 'hot'], 0.028)
    """
    planned = replace(damper, hold_back=0.0, refused=damper.refused - {"hold_back"})
    # the window stands on all that the uses do, at every condition
    ends = ("stroke_left", "smallest_hold_back", "largest_hold_back")
    for name in ends:
        missing = lacking(planned, name)
        if missing:
            return Missing(missing)
    stroke_left, smallest, largest = (value_of(planned, name) for name in ends)
    across = [stroke_left * i / STEPS for i in range(STEPS + 1)]
    lines: dict[str, list[Curve]] = {"into_body_use": [], "into_cap_use": []}
    for name, curves in lines.items():
        for condition in conditions_of(planned, name):
            uses = values_at(planned, name, condition, hold_back=across)
            if not all(map(isfinite, uses)):
                return Missing(("a bladder that gives any room",))
            curves.append(Curve(condition, tuple(zip(across, uses, strict=True))))
    into_body, into_cap = map(tuple, lines.values())
    return Room(into_body, into_cap, stroke_left, smallest, largest)


# Past the coldest and the hottest temperature by so much (K).
_BEYOND = 4.0

# What is drawn where no temperature is known (K): a cold shed to a hot track.
_ANY_DAY = (273.15, 313.15)


def thinning(damper: Damper) -> Thinning | Missing:
    """Return the viscosity of a damper's oil against temperature, past all of its conditions."""
    marks = tuple(
        (condition, value)
        for condition, name in (
            ("bench", "bench_temperature"),
            ("cold", "coldest"),
            ("hot", "hottest"),
        )
        if (value := getattr(damper, name)) is not None and name not in damper.refused
    )
    known = [value for _, value in marks] or list(_ANY_DAY)
    least, most = min(known) - _BEYOND, max(known) + _BEYOND
    # only the oil matters here: a bench whose temperature is missing hides nothing
    anywhere = replace(
        damper, bench_temperature=least, refused=damper.refused - {"bench_temperature"}
    )
    missing = lacking(anywhere, "viscosity")
    if missing:
        return Missing(missing)
    across = [least + (most - least) * i / STEPS for i in range(STEPS + 1)]
    viscosities = values_at(anywhere, "viscosity", "bench", bench_temperature=across)
    return Thinning(tuple(zip(across, viscosities, strict=True)), marks)


# The plot goes on so far past the speed at which the oil can cavitate last, within these (m/s).
_PAST_CEILING = 1.6
_FASTEST = (0.2, 3.0)


def forces(damper: Damper) -> Forces | Missing:
    """Return the damping force against shaft speed, in and out, with the ceiling going in."""
    name = "cavitation_speed"  # stands on all that the force does
    ceilings: dict[str, float] = {}
    missing: list[str] = []
    for condition in conditions_of(damper, name):
        lacks = lacking(damper, name, condition)
        if lacks:
            missing += lacks
        else:
            ceilings[condition] = value_of(damper, name, condition)
    if not ceilings:
        return Missing(_once(missing))
    tenths = ceil(round(max(ceilings.values()) * _PAST_CEILING * 10.0, 6))
    fastest = min(max(tenths / 10.0, _FASTEST[0]), _FASTEST[1])
    curves = tuple(_force(damper, c, speed, fastest) for c, speed in ceilings.items())
    rough = min(_rough(damper, condition) for condition in ceilings)
    return Forces(curves, fastest, rough, _once(missing))


# Above this Reynolds number in the holes the model is within 15 % of flow solved on a mesh.
_ROUGH = 5.0


def _rough(damper: Damper, condition: str) -> float:
    """Return the shaft speed past which the force is known less closely (m/s)."""
    assert damper.bore is not None and damper.shaft_diameter is not None
    assert damper.holes is not None
    viscosity = value_of(damper, "viscosity", condition)
    at_one = flow.reynolds(
        1.0, damper.bore, damper.shaft_diameter, damper.holes, viscosity, damper.taper_to
    )
    return _ROUGH / float(at_one)


def _force(damper: Damper, condition: str, ceiling_speed: float, fastest: float) -> ForceCurve:
    assert damper.bore is not None and damper.shaft_diameter is not None
    assert damper.holes is not None and damper.piston_thickness is not None
    bore, shaft, holes, thickness = (
        damper.bore,
        damper.shaft_diameter,
        damper.holes,
        damper.piston_thickness,
    )
    viscosity = value_of(damper, "dynamic_viscosity", condition)
    density = value_of(damper, "oil_density", condition)
    ceiling = value_of(damper, "flow_pressure", condition) * float(annulus_area(bore, shaft))

    speeds = {fastest * i / STEPS for i in range(-STEPS, STEPS + 1)}
    if ceiling_speed < fastest:
        speeds.add(ceiling_speed)
    across = np.array(sorted(speeds))
    forces = flow.force(
        across,
        bore,
        shaft,
        holes,
        thickness,
        viscosity,
        density,
        taper_to=damper.taper_to,
        chamfer=damper.chamfer,
    )
    points = zip(across.tolist(), np.minimum(forces, ceiling).tolist(), strict=True)
    return ForceCurve(condition, tuple(points), ceiling_speed, ceiling)


def _once(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))
