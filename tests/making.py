"""Makes sound repositories in a folder, and dampers at random. Everything in them is invented.

The repository's figures are round ones, and every rule holds in it, surely: what a test changes is
then all that can be found.
"""

from __future__ import annotations

import datetime
import errno
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin

__all__ = [
    "BENCH",
    "FEW",
    "Raw",
    "box",
    "build_path",
    "close",
    "dampers",
    "pairs",
    "repository",
    "sides",
    "toml",
    "with_reading",
    "with_spread",
    "write",
]

#: For properties of which one example takes long: fewer of them.
FEW = settings(
    max_examples=max(4, settings().max_examples // 5), suppress_health_check=[HealthCheck.too_slow]
)

Tables = dict[str, dict[str, Any]]


@dataclass(frozen=True)
class Raw:
    """A value that stands in the file as it is."""

    text: str


_PARTS: Tables = {
    "body.long": {"bore": "16 mm", "stroke": "30 mm", "length": "52 mm", "oil": "9 ml"},
    "body.longer": {"bore": "16 mm", "stroke": "34 mm", "length": "61 mm", "oil": "10.7 ml"},
    "body.short": {"bore": "13 mm", "stroke": "20 mm", "length": "42 mm", "oil": "4.9 ml"},
    "shaft.s35": {"diameter": "3.5 mm"},
    "piston.four": {"diameter": "15.9 mm", "thickness": "2.5 mm", "holes": "4 x 1.8 mm"},
    "bladder.deep": {"into_body": "480 mm^3", "into_cap": "500 mm^3"},
    "oil.o450": {"viscosity": "450 cSt"},
    "spring.soft": {"rate": "0.82 N/mm", "free_length": "70 mm", "solid_length": "24 mm"},
    "spring.longer": {"rate": "0.76 N/mm", "free_length": "86 mm", "solid_length": "28 mm"},
}
_CAR: Tables = {
    "": {"name": "Heron", "class": "eighth-scale buggy"},
    "front": {
        "body": "long",
        "shaft": "s35",
        "bladder": "deep",
        "corner_mass": "760 g",
        "motion_ratio": "0.66",
        "seat_gap": "70 mm",
    },
    "rear": {
        "body": "longer",
        "shaft": "s35",
        "bladder": "deep",
        "corner_mass": "930 g",
        "motion_ratio": "0.70",
        "seat_gap": "84 mm",
    },
}
_EVENT: Tables = {
    "": {
        "name": "Quarry Six-Hour",
        "on": datetime.date(2027, 6, 12),
        "altitude": "1900 m",
        "coldest": "14 degC",
        "hottest": "38 degC",
    }
}
_STEPS = ["deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked"]
_BUILD: Tables = {
    "": {"car": "heron", "event": "quarry"},
    "bench": {"on": datetime.date(2027, 6, 5), "temperature": "20 degC", "altitude": "5 m"},
    "front": {
        "piston": "four",
        "oil": "o450",
        "spring": "soft",
        "collar": "2 mm",
        "label": "o450 four",
        "runtime": "0 h",
        "done": _STEPS,
    },
    "front.left": {"hold_back": "6.4 mm", "length": "104.2 mm", "rebound": "60 %"},
    "front.right": {"hold_back": "6.4 mm", "length": "104.2 mm", "rebound": "60 %"},
    "rear": {
        "piston": "four",
        "oil": "o450",
        "spring": "longer",
        "collar": "3 mm",
        "label": "o450 four",
        "runtime": "0 h",
        "done": _STEPS,
    },
    "rear.left": {"hold_back": "9.5 mm", "length": "121 mm", "rebound": "55 %"},
    "rear.right": {"hold_back": "9.5 mm", "length": "121 mm", "rebound": "55 %"},
}
_FILES = {
    "drawers.parts.toml": ("parts", _PARTS),
    "heron.car.toml": ("car", _CAR),
    "quarry.event.toml": ("event", _EVENT),
    "heron-quarry.build.toml": ("build", _BUILD),
}


def toml(tables: Tables, changes: Mapping[str, Any] | None = None) -> str:
    """Write tables as TOML; changes are by dotted key ("front.left.hold_back"), None leaves out."""
    made = {name: dict(table) for name, table in tables.items()}
    for dotted, value in (changes or {}).items():
        name, _, key = dotted.rpartition(".")
        table = made.setdefault(name, {})
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value
    lines = []
    for name, table in made.items():
        if name:
            lines.append(f"[{name}]")
        lines += [f"{key} = {_written(value)}" for key, value in table.items()]
        lines.append("")
    return "\n".join(lines)


def _written(value: Any) -> str:
    if isinstance(value, Raw):
        return value.text
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_written(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_written, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def write(folder: Path, files: Mapping[str, str]) -> Path:
    """Write files below a folder, which is a root by its buildlint.toml."""
    for name, text in {"buildlint.toml": "", **files}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def repository(folder: Path, **changes: Mapping[str, Any]) -> Path:
    """Write the sound repository, with changes to its parts, car, event and build.

    `repository(folder, build={"front.left.hold_back": "0 mm"})`
    """
    files = {name: toml(tables, changes.get(kind)) for name, (kind, tables) in _FILES.items()}
    return write(folder, files)


def close(patch: pytest.MonkeyPatch, folder: Path) -> None:
    """Let nobody look into a folder: its rights would not stop whoever has every right."""
    scandir = os.scandir

    def refuse(path: Any) -> Any:
        if Path(path) == folder:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return scandir(path)

    patch.setattr(os, "scandir", refuse)


def build_path(folder: Path) -> Path:
    """Give the path of the one build."""
    return folder / "heron-quarry.build.toml"


# --- dampers at random ---------------------------------------------------------------------------

#: Where the readings of a random damper are said to stand.
BENCH = Path("/nowhere/random.build.toml")

_ZERO = 273.15

# Half-widths of the fields' default tolerances: SI amount, or a share.
_HALVES: dict[str, tuple[float, float]] = {
    "bore": (0.02e-3, 0),
    "stroke": (0.1e-3, 0),
    "body_length": (0.1e-3, 0),
    "oil_volume": (0, 0.1),
    "gas_volume": (0, 0.1),
    "shaft_diameter": (0.02e-3, 0),
    "piston_diameter": (0.02e-3, 0),
    "piston_thickness": (0.1e-3, 0),
    "bladder_into_body": (0, 0.1),
    "bladder_into_cap": (0, 0.1),
    "viscosity_given": (0, 0.05),
    "density": (5.0, 0),
    "expansion": (0, 0.03),
    "hold_back": (0.3e-3, 0),
    "limiter": (0.1e-3, 0),
    "collar": (0.1e-3, 0),
    "length": (0.1e-3, 0),
    "rebound": (0.03, 0),
    "air": (0, 0.1),
    "bench_temperature": (2.0, 0),
    "bench_altitude": (20.0, 0),
    "coldest": (2.0, 0),
    "hottest": (2.0, 0),
    "event_altitude": (20.0, 0),
    "highest": (20.0, 0),
    "spring_rate": (0, 0.05),
    "free_length": (0.1e-3, 0),
    "solid_length": (0.1e-3, 0),
    "corner_mass": (0, 0.05),
    "motion_ratio": (0, 0.03),
    "seat_gap": (0.1e-3, 0),
}
# What few dampers have read to a tolerance of its own.
_RARE_HALVES: dict[str, tuple[float, float]] = {
    "viscosity_given_at": (1.0, 0),
    "second_viscosity": (0, 0.05),
    "second_viscosity_at": (1.0, 0),
    "slope_given": (0, 0.02),
    "blend_viscosity": (0, 0.06),
    "blend_slope": (0, 0.01),
    "taper_to": (0.02e-3, 0),
    "chamfer": (0.05e-3, 0),
    "largest_piston": (0.02e-3, 0),
    "gas_volume": (0, 0.1),
    "rate_given": (0, 0.05),
    "wire": (0.02e-3, 0),
    "mean_diameter": (0.1e-3, 0),
    "coils": (0.1, 0),
    "shear_modulus": (0, 0.02),
    "runtime": (60.0, 0),
}
_NEVER_BELOW_NOTHING = {"hold_back", "limiter", "collar", "air", "rebound", "runtime"}


@st.composite
def dampers(
    draw: Any,
    end: str = "front",
    side: str = "left",
    event: bool | None = None,
    every: bool = False,
) -> Damper:
    """Any damper that a model car might have, with every tolerance from none to twice the usual.

    Most have a bladder and what is usually read; with `every`, emulsions too, and each reading that
    a figure can stand on, each loose.
    """

    def some(least: float, most: float) -> float:
        return draw(st.floats(least, most, allow_nan=False))

    bore = some(8e-3, 20e-3)
    stroke = some(10e-3, 45e-3)
    limiter = draw(st.sampled_from([0.0, 0.0, 2e-3, 5e-3]))
    sealed = draw(st.booleans())
    holes = draw(st.sampled_from([((4, 1.8e-3),), ((8, 1.3e-3),), ((2, 1.5e-3), (2, 1.2e-3))]))
    at_event = draw(st.booleans()) if event is None else event
    two_points = draw(st.booleans())
    viscosity = some(80e-6, 2000e-6)
    coldest = _ZERO + some(-5.0, 30.0)
    figures: dict[str, Any] = {
        "bore": bore,
        "stroke": stroke,
        "limiter": limiter,
        "body_length": stroke + some(15e-3, 30e-3),
        "oil_volume": some(2e-6, 15e-6),
        "cap": "sealed" if sealed else "vented",
        "gas_volume": some(200e-9, 1500e-9) if sealed else None,
        "shaft_diameter": some(2e-3, 4e-3),
        "piston_diameter": bore - 0.1e-3,
        "piston_thickness": some(1.5e-3, 4e-3),
        "holes": holes,
        "taper_to": draw(st.sampled_from([None, 1.2e-3, 2e-3])),
        "chamfer": draw(st.sampled_from([None, None, 0.2e-3])),
        "bladder_into_body": some(50e-9, 900e-9),
        "bladder_into_cap": some(50e-9, 900e-9),
        "viscosity_given": viscosity,
        "viscosity_given_at": 298.15,
        "second_viscosity": viscosity * some(0.3, 0.7) if two_points else None,
        "second_viscosity_at": 333.15 if two_points else None,
        "slope_given": None if two_points else 1757.0,
        "density": 968.0,
        "expansion": some(1e-4, 5e-3),
        "hold_back": some(0.0, 1.0) * (stroke - limiter),
        "collar": some(0.0, 10e-3),
        "length": some(60e-3, 140e-3),
        "rebound": some(0.0, 1.0),
        "air": draw(st.sampled_from([0.0, 50e-9, 200e-9])),
        "bench_temperature": _ZERO + some(5.0, 35.0),
        "bench_altitude": some(-100.0, 2500.0),
        "coldest": coldest if at_event else None,
        "hottest": coldest + some(0.0, 30.0) if at_event else None,
        "event_altitude": some(-100.0, 3500.0) if at_event else None,
        "highest": some(0.0, 3500.0) if at_event else None,
        "arrive_by": draw(st.sampled_from(["road", "air"])) if at_event else None,
        "spring_rate": some(300.0, 2000.0),
        "free_length": some(40e-3, 110e-3),
        "solid_length": some(15e-3, 35e-3),
        "corner_mass": some(0.3, 1.5),
        "motion_ratio": some(0.4, 1.0),
        "seat_gap": stroke + some(20e-3, 60e-3),
        "bench_on": 739000.0,
        "event_on": 739007.0 if at_event else None,
    }
    if every:
        figures |= {
            "style": draw(st.sampled_from(["bladder", "bladder", "emulsion"])),
            "blend_viscosity": draw(st.sampled_from([None, viscosity * 1.03])),
            "blend_slope": 1740.0,
            "largest_piston": draw(st.sampled_from([None, bore - 0.05e-3])),
            "rate_given": draw(st.sampled_from([None, 850.0])),
            "wire": some(1e-3, 2e-3),
            "mean_diameter": some(12e-3, 25e-3),
            "coils": some(4.0, 9.0),
            "shear_modulus": 81.5e9,
            "runtime": some(0.0, 40000.0),
            "done": ("deburred", "greased"),
            "label": draw(st.sampled_from([None, "oil piston"])),
        }
    # none, or such as can be read: nobody reads to a picometre
    scale = draw(st.one_of(st.just(0.0), st.floats(0.1, 2.0)))
    spread: dict[str, tuple[Any, Any]] = {}
    for name, (amount, share) in (_HALVES | _RARE_HALVES if every else _HALVES).items():
        value = figures[name]
        half = scale * (amount + share * abs(value)) if value is not None else 0.0
        if name == "limiter" and value == 0.0:
            half = 0.0  # none is none
        if half:
            low = value - half
            spread[name] = (max(low, 0.0) if name in _NEVER_BELOW_NOTHING else low, value + half)
    if scale:
        spread["holes"] = tuple(
            tuple((n, d + sign * scale * 0.02e-3) for n, d in holes) for sign in (-1.0, 1.0)
        )
    return Damper(
        end=end,
        side=side,
        **{k: v for k, v in figures.items() if v is not None},
        **{kind: kind for kind in ("body", "shaft", "piston", "bladder", "oil")},
        spread=spread,
        origin={name: Origin(BENCH, (end, side, name)) for name in figures},
    )


def sides(damper: Damper, shared: bool = True) -> tuple[Damper, Damper]:
    """Give the same damper left and right; where `shared`, its readings stand in one place."""
    left, right = (
        replace(
            damper,
            side=side,
            origin={
                name: Origin(BENCH, (damper.end, name) if shared else (damper.end, side, name))
                for name in damper.origin
            },
        )
        for side in ("left", "right")
    )
    return left, right


@st.composite
def pairs(draw: Any, every: bool = False) -> tuple[Damper, Damper]:
    """Any left and right damper of one end: alike, but for a hold-back and length of their own."""
    left, right = sides(draw(dampers(every=every)), shared=draw(st.booleans()))
    if draw(st.booleans()):
        apart = {"hold_back": draw(st.floats(0.0, 8e-3)), "length": draw(st.floats(0.08, 0.12))}
        for name, value in apart.items():
            right = with_reading(right, name, value)
            right.origin[name] = Origin(BENCH, (right.end, "right", name))
            left.origin[name] = Origin(BENCH, (left.end, "left", name))
    return left, right


def with_reading(damper: Damper, name: str, value: float) -> Damper:
    """Give the damper with another reading, read as closely as the one it has."""
    spread = dict(damper.spread)
    if name in spread:
        was = getattr(damper, name)
        half = spread[name][1] - was
        if name in _HALVES and _HALVES[name][1]:
            half *= value / was  # a share of it
        low = value - half
        spread[name] = (max(low, 0.0) if name in _NEVER_BELOW_NOTHING else low, value + half)
    changes: dict[str, Any] = {name: value}
    return replace(damper, **changes, spread=spread, origin=dict(damper.origin))


def with_spread(damper: Damper, **spread: tuple[float, float]) -> Damper:
    """Give the damper with only these tolerances."""
    return replace(damper, spread=spread)


def box(damper: Damper, names: tuple[str, ...]) -> Iterator[tuple[Any, Any, Any]]:
    """Give the reading, the least and the most of each name."""
    for name in names:
        value = getattr(damper, name)
        low, high = damper.spread.get(name, (value, value))
        yield value, low, high
