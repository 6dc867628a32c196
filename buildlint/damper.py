"""One finished damper as a frozen record: what the corner says, else its end, else the car."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
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
from buildlint.oils import blend_of, kinematic
from buildlint.physics import displacement, oil
from buildlint.physics import spring as springs
from buildlint.readings import Reading
from buildlint.team import Origin, Sourced, Team
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
    event: str | None = None  # as named, known or not

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

    spring_rate: float | None = None  # N/m: as given, else of the wire
    rate_given: float | None = None  # N/m
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
    arrive_by: Literal["road", "air"] | None = None
    highest: float | None = None  # altitude on the road there

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
        return (self.event, self.coldest, self.hottest) != (None, None, None)

    @property
    def has_blend(self) -> bool:
        """Whether the oil states a viscosity and a blend, which can be held against each other."""
        return self.blend_viscosity is not None

    @property
    def rate_stands_twice(self) -> bool:
        """Whether the spring's rate is given and its wire too, which can be held against it."""
        return None not in (self.rate_given, self.wire, self.mean_diameter, self.coils)

    @property
    def arrives_by_air(self) -> bool:
        """Whether there is an event that the car goes to by air."""
        return self.arrive_by == "air"

    @property
    def passes_height(self) -> bool:
        """Whether the car goes by road over a height that is given."""
        return self.arrive_by == "road" and self.highest is not None

    @property
    def piston_is_limited(self) -> bool:
        """Whether the body says which piston is the largest that it takes."""
        return self.largest_piston is not None

    def in_words(self, name: str) -> str:
        """Say what a builder would have to give for a figure that is missing.

        >>> Damper(end="rear", side="left", bladder="b1").in_words("bladder_into_cap")
        'into_cap of bladder b1'
        """
        if name in _KEY_IN_PART:
            kind, key = _KEY_IN_PART[name]
            ident = getattr(self, kind)
            return f"{key} of {kind} {clean(ident)}" if ident is not None else kind
        if name in _KEY_IN_EVENT and self.event is not None:
            return f"{_KEY_IN_EVENT[name]} of event {clean(self.event)}"
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
    "second_viscosity": ("oil", "second"),
    "second_viscosity_at": ("oil", "second"),
    "slope_given": ("oil", "vtc"),
    "spring_rate": ("spring", "rate"),
    "rate_given": ("spring", "rate"),
    "free_length": ("spring", "free_length"),
    "solid_length": ("spring", "solid_length"),
    "wire": ("spring", "wire"),
    "mean_diameter": ("spring", "mean_diameter"),
    "coils": ("spring", "coils"),
    "shear_modulus": ("spring", "shear_modulus"),
}
_KEY_IN_EVENT = {
    "event_on": "date",
    "coldest": "coldest",
    "hottest": "hottest",
    "event_altitude": "altitude",
}
_KEY_ELSEWHERE = {
    "bench_temperature": "bench temperature",
    "bench_altitude": "bench altitude",
    "bench_on": "bench date",
    "event_on": "event",
    "coldest": "event",
    "hottest": "event",
    "event_altitude": "event",
    "highest": "highest altitude of the event",
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
    shared.figures["event"] = model.event
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
            highest="highest",
        )
        by = event.arrive_by
        shared.figure("arrive_by", by, by, by, Origin(event_file.path, ("arrive_by",)))
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
        if found is None or (kind == "bladder" and made.figures["style"] == "emulsion"):
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
    blended = blend_of(team, ident)
    if blended is not None and table.viscosity is not None:
        made.figure("blend_viscosity", *blended[0], Origin(path, (*keys, "blend")))
        made.figure("blend_slope", blended[1], blended[1], blended[1], whole)
    given = kinematic(table, table.viscosity, table.at)
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
        second = kinematic(table, table.second.viscosity, table.second.at)
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


def _take_spring(made: _Gathering, team: Team, part: Sourced, ident: str) -> None:
    table = part.table
    assert isinstance(table, Spring)
    keys = ("spring", ident)
    whole = Origin(part.file.path, keys)
    modulus = springs.MUSIC_WIRE_SHEAR_MODULUS
    half = modulus * springs.SHEAR_MODULUS_TOLERANCE
    made.figure("shear_modulus", modulus, modulus - half, modulus + half, whole)
    made.readings(
        table,
        part.file,
        keys,
        spring_rate="rate",
        rate_given="rate",
        free_length="free_length",
        solid_length="solid_length",
        wire="wire",
        mean_diameter="mean_diameter",
        coils="coils",
        shear_modulus="shear_modulus",
    )
    wire, diameter, coils = table.wire, table.mean_diameter, table.coils
    if wire is None or coils is None:
        return
    if diameter is not None and table.rate is None and wire.high < diameter.low:
        stiff = table.shear_modulus
        least, most = (stiff.low, stiff.high) if stiff else (modulus - half, modulus + half)
        made.figure(
            "spring_rate",
            springs.wire_rate(
                wire.value, diameter.value, coils.value, stiff.value if stiff else modulus
            ),
            springs.wire_rate(wire.low, diameter.high, coils.high, least),
            springs.wire_rate(wire.high, diameter.low, coils.low, most),
            Origin(part.file.path, (*keys, "wire")),
        )
    if table.solid_length is None:
        # ends that are not ground stand one wire higher
        made.figure(
            "solid_length",
            springs.solid_length(wire.value, coils.value),
            springs.solid_length(wire.low, coils.low),
            springs.solid_length(wire.high, coils.high) + wire.high,
            Origin(part.file.path, (*keys, "wire")),
        )
        made.estimates.add("solid_length")


_TAKE = {
    "body": _take_body,
    "shaft": _take_shaft,
    "piston": _take_piston,
    "bladder": _take_bladder,
    "oil": _take_oil,
    "spring": _take_spring,
}


def fitted(team: Team, damper: Damper, kind: str, ident: str) -> Damper:
    """Give the damper with another part of a kind in the place of the one that it has.

    Raises KeyError for a part that the drawers do not hold.
    """
    part = team.parts()[kind][ident]
    made = _Gathering()
    gone = {name for name, (of, _) in _KEY_IN_PART.items() if of == kind}
    for item in fields(damper):
        if item.name not in ("spread", "origin", "estimates", *gone):
            made.figures[item.name] = getattr(damper, item.name)
    made.spread = {name: ends for name, ends in damper.spread.items() if name not in gone}
    made.origin = {name: place for name, place in damper.origin.items() if name not in gone}
    made.estimates = {name for name in damper.estimates if name not in gone}
    made.figures[kind] = ident
    _TAKE[kind](made, team, part, ident)
    _guess_oil_volume(made)
    return Damper(
        **made.figures,
        spread=made.spread,
        origin=made.origin,
        estimates=frozenset(made.estimates),
    )


class TeamDrawers:
    """The team's parts, to choose from."""

    def __init__(self, team: Team) -> None:
        """Take the drawers of a team."""
        self.team = team

    def ids(self, kind: str) -> list[str]:
        """Give the ids of the parts of a kind, sorted."""
        return sorted(self.team.parts()[kind])

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        """Give the damper with another part in it."""
        return fitted(self.team, damper, kind, ident)


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
