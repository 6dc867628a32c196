"""One finished damper as a frozen record: what the corner says, else its end, else the car."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Any, Literal

from buildlint.files.fields import Holes
from buildlint.files.models import (
    PART_KINDS,
    Bladder,
    Body,
    Build,
    Car,
    End,
    Oil,
    Piston,
    Shaft,
    Spring,
    Table,
)
from buildlint.files.reader import FileRead
from buildlint.physics import displacement, oil
from buildlint.readings import Reading
from buildlint.team import Origin, Sourced, Team
from buildlint.unit_sizes import SIZES
from buildlint.words import clean

__all__ = ["CORNERS", "Damper", "dampers"]

#: The four dampers of a car.
CORNERS = (("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right"))

#: Oil at filling, where it is not measured: the bore's area times length, give or take this share.
OIL_GUESS = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Damper:
    """A finished damper. Lengths in m, volumes in m^3, viscosities in m^2/s, temperatures in K.

    A figure that is None was not given. `spread` has the least and most of each figure that is not
    exact; `origin` says where each was read; `estimates` names those that are only estimated.

    >>> d = Damper(end="front", side="left", shaft_diameter=3.5e-3, stroke=30e-3)
    >>> d.hold_back is None
    True
    """

    end: str
    side: str
    style: Literal["bladder", "emulsion"] = "bladder"
    car_class: str | None = None

    body: str | None = None
    shaft: str | None = None
    piston: str | None = None
    bladder: str | None = None
    oil: str | None = None
    spring: str | None = None

    bore: float | None = None
    stroke: float | None = None  # of the body, with no limiter
    body_length: float | None = None
    oil_volume: float | None = None
    cap: Literal["vented", "sealed"] | None = None
    gas_volume: float | None = None
    largest_piston: float | None = None
    shaft_diameter: float | None = None
    piston_diameter: float | None = None
    piston_thickness: float | None = None
    holes: tuple[tuple[int, float], ...] | None = None  # (how many, diameter)
    taper_to: float | None = None
    bladder_into_body: float | None = None
    bladder_into_cap: float | None = None

    viscosity_given: float | None = None
    viscosity_given_at: float | None = None
    second_viscosity: float | None = None
    second_viscosity_at: float | None = None
    slope_given: float | None = None  # B in K; None where the second viscosity gives it
    density: float | None = None  # kg/m^3 at 25 degC
    expansion: float | None = None  # cubic, 1/K
    blend_viscosity: float | None = None  # at 25 degC, of an oil with both a blend and a viscosity
    blend_slope: float | None = None

    spring_rate_given: float | None = None  # N/m
    free_length: float | None = None
    solid_length: float | None = None
    wire: float | None = None
    mean_diameter: float | None = None
    coils: float | None = None
    shear_modulus: float | None = None  # Pa

    corner_mass: float | None = None  # kg
    motion_ratio: float | None = None  # damper travel / wheel travel
    seat_gap: float | None = None

    hold_back: float | None = None
    limiter: float | None = 0.0
    collar: float | None = 0.0
    length: float | None = None
    rebound: float | None = None
    air: float | None = 0.0
    runtime: float | None = None  # s
    label: str | None = None
    done: tuple[str, ...] | None = None

    bench_temperature: float | None = None
    bench_altitude: float | None = None
    bench_on: float | None = None  # days
    event_on: float | None = None
    coldest: float | None = None
    hottest: float | None = None
    event_altitude: float | None = None

    spread: dict[str, tuple[Any, Any]] = field(default_factory=dict)
    origin: dict[str, Origin] = field(default_factory=dict)
    estimates: frozenset[str] = frozenset()

    @property
    def corner(self) -> str:
        """The subject of a finding on this damper: "front.left"."""
        return f"{self.end}.{self.side}"

    @property
    def has_event(self) -> bool:
        """Whether there is an event to judge the damper at."""
        return self.coldest is not None or self.hottest is not None

    @property
    def has_blend(self) -> bool:
        """Whether the oil states a viscosity and a blend, which can be held against each other."""
        return self.blend_viscosity is not None

    def in_words(self, name: str) -> str:
        """Say what a builder would have to give for a figure that is missing.

        >>> Damper(end="rear", side="left", bladder="b1").in_words("bladder_into_cap")
        'into_cap of bladder b1'
        """
        if name in _KEY_IN_PART:
            kind, key = _KEY_IN_PART[name]
            ident = getattr(self, kind)
            return f"{key} of {kind} {clean(ident)}" if ident is not None else kind
        return _KEY_ELSEWHERE.get(name, name)


# Which part each figure is read from, and the key that it has there.
_KEY_IN_PART: dict[str, tuple[str, str]] = {
    "bore": ("body", "bore"),
    "stroke": ("body", "stroke"),
    "body_length": ("body", "length"),
    "oil_volume": ("body", "oil"),
    "cap": ("body", "cap"),
    "gas_volume": ("body", "gas"),
    "largest_piston": ("body", "piston"),
    "shaft_diameter": ("shaft", "diameter"),
    "piston_diameter": ("piston", "diameter"),
    "piston_thickness": ("piston", "thickness"),
    "holes": ("piston", "holes"),
    "bladder_into_body": ("bladder", "into_body"),
    "bladder_into_cap": ("bladder", "into_cap"),
    "viscosity_given": ("oil", "viscosity"),
    "viscosity_given_at": ("oil", "viscosity"),
    "density": ("oil", "density"),
    "expansion": ("oil", "expansion"),
    "blend_viscosity": ("oil", "blend"),
    "blend_slope": ("oil", "blend"),
    "spring_rate_given": ("spring", "rate"),
    "free_length": ("spring", "free_length"),
    "solid_length": ("spring", "solid_length"),
    "wire": ("spring", "wire"),
    "mean_diameter": ("spring", "mean_diameter"),
    "coils": ("spring", "coils"),
}
_KEY_ELSEWHERE = {
    "bench_temperature": "bench temperature",
    "bench_altitude": "bench altitude",
    "bench_on": "bench date",
    "event_on": "event",
    "coldest": "event",
    "hottest": "event",
    "event_altitude": "event",
    "corner_mass": "corner_mass of the car",
    "motion_ratio": "motion_ratio of the car",
    "seat_gap": "seat_gap of the car",
}


class _Gathering:
    """The figures of one damper while they are being gathered."""

    def __init__(self) -> None:
        self.figures: dict[str, Any] = {}
        self.spread: dict[str, tuple[Any, Any]] = {}
        self.origin: dict[str, Origin] = {}
        self.estimates: set[str] = set()

    def reading(self, name: str, reading: Reading | None, origin: Origin) -> None:
        if reading is not None:
            self.figure(name, reading.value, reading.low, reading.high, origin)

    def figure(self, name: str, value: Any, low: Any, high: Any, origin: Origin) -> None:
        self.figures[name] = value
        self.origin[name] = origin
        if low != high:
            self.spread[name] = (low, high)

    def readings(self, table: Table, file: FileRead, keys: tuple[str, ...], **names: str) -> None:
        """Take readings from a table: name of the figure = key in the table."""
        for name, key in names.items():
            self.reading(name, getattr(table, key), Origin(file.path, (*keys, key)))


def dampers(team: Team, build: FileRead) -> list[Damper]:
    """Give the four dampers of a build, as far as its file says what is in them.

    An end that the file lacks gives no dampers.
    """
    model = build.model
    if not isinstance(model, Build):
        return []
    car, car_file = team.car_of(model)
    event, event_file = team.event_of(model)
    shared = _Gathering()
    shared.figures["style"] = model.style
    if model.bench is not None:
        shared.readings(
            model.bench,
            build,
            ("bench",),
            bench_temperature="temperature",
            bench_altitude="altitude",
        )
        if model.bench.on is not None:
            on = float(model.bench.on.toordinal())
            shared.figure("bench_on", on, on, on, Origin(build.path, ("bench", "on")))
    if event is not None and event_file is not None:
        shared.readings(
            event,
            event_file,
            (),
            coldest="coldest",
            hottest="hottest",
            event_altitude="altitude",
        )
        if event.on is not None:
            on = float(event.on.toordinal())
            shared.figure("event_on", on, on, on, Origin(event_file.path, ("on",)))
    if car is not None:
        shared.figures["car_class"] = car.car_class
    return [
        _damper(team, build, end, side, getattr(model, end), car, car_file, shared)
        for end, side in CORNERS
        if getattr(model, end) is not None
    ]


def _damper(
    team: Team,
    build: FileRead,
    end: str,
    side: str,
    table: End,
    car: Car | None,
    car_file: FileRead | None,
    shared: _Gathering,
) -> Damper:
    made = _Gathering()
    made.figures = {**shared.figures, "end": end, "side": side}
    made.spread = dict(shared.spread)
    made.origin = dict(shared.origin)

    layers: list[tuple[Table | None, FileRead | None, tuple[str, ...]]] = [
        (getattr(table, side), build, (end, side)),
        (table, build, (end,)),
        (getattr(car, end, None), car_file, (end,)),
    ]

    def said(key: str) -> tuple[Any, Origin] | None:
        for layer, file, keys in layers:
            value = getattr(layer, key, None)
            if value is not None and file is not None:
                return value, Origin(file.path, (*keys, key))
        return None

    for key in _READ_ON_DAMPER:
        found = said(key)
        if found is not None:
            made.reading(key, *found)
    for key in ("label", "done"):
        found = said(key)
        if found is not None:
            value = tuple(found[0]) if key == "done" else found[0]
            made.figure(key, value, value, value, found[1])
    for kind in PART_KINDS:
        found = said(kind)
        if found is None:
            continue
        ident, origin = found
        made.figure(kind, ident, ident, ident, origin)
        part = team.part(kind, ident)
        if part is not None:
            _TAKE[kind](made, team, part, ident)
    _guess_oil_volume(made)
    if made.figures["style"] == "emulsion" and "air" not in made.figures:
        made.figures["air"] = None  # poured in, but not said how much
    return Damper(
        **made.figures,
        spread=made.spread,
        origin=made.origin,
        estimates=frozenset(made.estimates),
    )


_READ_ON_DAMPER = (
    "hold_back",
    "limiter",
    "collar",
    "length",
    "rebound",
    "air",
    "runtime",
    "corner_mass",
    "motion_ratio",
    "seat_gap",
)


def _take_body(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    body = part.table
    assert isinstance(body, Body)
    made.readings(
        body,
        part.file,
        ("body", ident),
        bore="bore",
        stroke="stroke",
        body_length="length",
        oil_volume="oil",
        gas_volume="gas",
        largest_piston="piston",
    )
    made.figure("cap", body.cap, body.cap, body.cap, Origin(part.file.path, ("body", ident, "cap")))


def _take_shaft(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    assert isinstance(part.table, Shaft)
    made.readings(part.table, part.file, ("shaft", ident), shaft_diameter="diameter")


def _take_piston(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    piston = part.table
    assert isinstance(piston, Piston)
    made.readings(
        piston,
        part.file,
        ("piston", ident),
        piston_diameter="diameter",
        piston_thickness="thickness",
        taper_to="taper_to",
    )
    holes: Holes | None = piston.holes
    if holes is not None:
        made.figure(
            "holes",
            tuple((count, size.value) for count, size in holes.groups),
            tuple((count, size.low) for count, size in holes.groups),
            tuple((count, size.high) for count, size in holes.groups),
            Origin(part.file.path, ("piston", ident, "holes")),
        )


def _take_bladder(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    bladder = part.table
    assert isinstance(bladder, Bladder)
    keys = ("bladder", ident)
    made.readings(
        bladder,
        part.file,
        keys,
        bladder_into_body="into_body",
        bladder_into_cap="into_cap",
    )
    cup = bladder.cup
    if cup is None or cup.radius is None or cup.depth is None:
        return
    room, least, most = (
        displacement.cup_room(radius, depth)
        for radius, depth in zip(cup.radius[:3], cup.depth[:3], strict=True)
    )
    for name in ("bladder_into_body", "bladder_into_cap"):
        if name not in made.figures:
            made.figure(name, room, least, most, Origin(part.file.path, (*keys, "cup")))
            made.estimates.add(name)


def _take_oil(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    table = part.table
    assert isinstance(table, Oil)
    path, keys = part.file.path, ("oil", ident)
    whole = Origin(path, keys)
    made.figure(
        "expansion",
        oil.SILICONE_EXPANSION,
        oil.SILICONE_EXPANSION - oil.SILICONE_EXPANSION_TOLERANCE,
        oil.SILICONE_EXPANSION + oil.SILICONE_EXPANSION_TOLERANCE,
        whole,
    )
    made.figure(
        "density",
        oil.SILICONE_DENSITY,
        oil.SILICONE_DENSITY - oil.SILICONE_DENSITY_TOLERANCE,
        oil.SILICONE_DENSITY + oil.SILICONE_DENSITY_TOLERANCE,
        whole,
    )
    made.readings(table, part.file, keys, expansion="expansion", density="density")
    blended = _blended(team, ident)
    if blended is not None and table.viscosity is not None:
        made.figure("blend_viscosity", *blended[0], Origin(path, (*keys, "blend")))
        made.figure("blend_slope", blended[1], blended[1], blended[1], whole)
    given = _kinematic(table, table.viscosity, table.at)
    if given is not None:
        at = table.at
        made.figure("viscosity_given", *given, Origin(path, (*keys, "viscosity")))
        made.figure(
            "viscosity_given_at",
            *((at.value, at.low, at.high) if at is not None else (oil.REFERENCE_TEMPERATURE,) * 3),
            Origin(path, (*keys, "at")),
        )
    elif blended is not None:
        made.figure("viscosity_given", *blended[0], Origin(path, (*keys, "blend")))
        made.figure("viscosity_given_at", *(oil.REFERENCE_TEMPERATURE,) * 3, whole)
    if table.second is not None and table.second.at is not None:
        second = _kinematic(table, table.second.viscosity, table.second.at)
        if second is not None:
            here = (*keys, "second")
            made.figure("second_viscosity", *second, Origin(path, (*here, "viscosity")))
            made.reading("second_viscosity_at", table.second.at, Origin(path, (*here, "at")))
            return
    if table.vtc is not None:
        slope, least, most = (oil.slope_from_vtc(v) for v in table.vtc[:3])
        made.figure("slope_given", slope, least, most, Origin(path, (*keys, "vtc")))
    else:
        slope = blended[1] if blended is not None else oil.SILICONE_SLOPE
        made.figure("slope_given", slope, slope, slope, whole)


_Three = tuple[float, float, float]


def _kinematic(table: Oil, viscosity: Reading | None, at: Reading | None) -> _Three | None:
    """Give a viscosity in m^2/s, as read, least and most; None where it cannot be had."""
    if viscosity is None:
        return None
    three = viscosity[:3]
    try:
        if viscosity.unit == "SUS":
            if at is None:
                return None
            seconds = [oil.viscosity_from_saybolt(seconds, at.value) for seconds in three]
            return seconds[0], seconds[1], seconds[2]
        if viscosity.unit in SIZES["dynamic viscosity"]:
            if table.density is None:
                return None
            temperature = at.value if at is not None else oil.REFERENCE_TEMPERATURE
            expansion = table.expansion.value if table.expansion else oil.SILICONE_EXPANSION
            value, low, high = (
                oil.density_at(d, temperature, expansion) for d in table.density[:3]
            )
            return (
                oil.kinematic(three[0], value),
                oil.kinematic(three[1], high),
                oil.kinematic(three[2], low),
            )
    except ValueError:
        return None  # the file's own finding says what is wrong
    return three


def _blended(team: Team, ident: str) -> tuple[_Three, float] | None:
    """Give a blend's viscosity at 25 degC, as read, least and most, and its slope.

    None where the oil is no blend, or one of its parts is not known. The mixing law rises with
    each part's viscosity; stated tolerances of the shares are tried at both their ends.
    """
    part = team.part("oil", ident)
    table = part.table if part is not None else None
    if not isinstance(table, Oil) or not table.blend or not team.blend_is_sound(ident):
        return None
    points = [_at_reference(team, other) for other in table.blend]
    known = [point for point in points if point is not None]
    if len(known) != len(points):
        return None
    shares = list(table.blend.values())
    slopes = [slope for _, slope in known]
    ends = list(product(*((s.low, s.high) if s.low != s.high else (s.value,) for s in shares)))
    lows, highs = [p[0][1] for p in known], [p[0][2] for p in known]
    values = [share.value for share in shares]
    return (
        oil.blend_viscosity(values, [p[0][0] for p in known]),
        min(oil.blend_viscosity(end, lows) for end in ends),
        max(oil.blend_viscosity(end, highs) for end in ends),
    ), oil.blend_slope(values, slopes)


def _at_reference(team: Team, ident: str) -> tuple[_Three, float] | None:
    """Give an oil's viscosity at 25 degC and its slope."""
    part = team.part("oil", ident)
    table = part.table if part is not None else None
    if not isinstance(table, Oil):
        return None
    given = _kinematic(table, table.viscosity, table.at)
    if given is None:
        return _blended(team, ident)
    at = table.at.value if table.at is not None else oil.REFERENCE_TEMPERATURE
    slope = oil.SILICONE_SLOPE
    if table.second is not None and table.second.at is not None:
        second = _kinematic(table, table.second.viscosity, table.second.at)
        if second is not None:
            slope = oil.slope_from_two_points(given[0], at, second[0], table.second.at.value)
    elif table.vtc is not None:
        slope = oil.slope_from_vtc(table.vtc.value)
    value, low, high = (oil.viscosity_at(nu, at, oil.REFERENCE_TEMPERATURE, slope) for nu in given)
    return (value, low, high), slope


def _take_spring(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    assert isinstance(part.table, Spring)
    made.readings(
        part.table,
        part.file,
        ("spring", ident),
        spring_rate_given="rate",
        free_length="free_length",
        solid_length="solid_length",
        wire="wire",
        mean_diameter="mean_diameter",
        coils="coils",
        shear_modulus="shear_modulus",
    )


_TAKE = {
    "body": _take_body,
    "shaft": _take_shaft,
    "piston": _take_piston,
    "bladder": _take_bladder,
    "oil": _take_oil,
    "spring": _take_spring,
}


def _guess_oil_volume(made: _Gathering) -> None:
    """Where the oil at filling was not measured: the bore's area times the body's length."""
    figures = made.figures
    if "oil_volume" in figures or "bore" not in figures or "body_length" not in figures:
        return

    def volume(which: int) -> float:
        bore, length = (
            made.spread[name][which] if name in made.spread else figures[name]
            for name in ("bore", "body_length")
        )
        return float(displacement.circle_area(bore) * length)

    value = displacement.circle_area(figures["bore"]) * figures["body_length"]
    low, high = volume(0) * (1 - OIL_GUESS), volume(1) * (1 + OIL_GUESS)
    made.figure("oil_volume", value, low, high, made.origin["body_length"])
    made.estimates.add("oil_volume")


def corners_of(found: list[Damper], end: str) -> Iterator[Damper]:
    """Give the dampers of one end."""
    return (damper for damper in found if damper.end == end)
