"""Put dampers together from a team's files: what the corner says, else its end, else the car."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from buildlint.damper import KEY_IN_PART, Damper
from buildlint.files.fields import Holes
from buildlint.files.models import (
    PART_KINDS,
    Bladder,
    Body,
    Build,
    End,
    Event,
    Oil,
    Piston,
    Shaft,
    Spring,
    Table,
)
from buildlint.files.reader import FileRead
from buildlint.oils import blend_of, kinematic, viscosity_refused
from buildlint.physics import displacement, oil
from buildlint.physics import spring as springs
from buildlint.readings import Reading
from buildlint.team import Origin, Sourced, Team

__all__ = ["TeamDrawers", "dampers", "fitted"]

#: Oil at filling, where it is not measured: the bore's area times length, give or take this share.
OIL_GUESS = 0.15


class _Gathering:
    """The figures of one damper while they are being gathered."""

    def __init__(self) -> None:
        self.figures: dict[str, Any] = {}
        self.spread: dict[str, tuple[Any, Any]] = {}
        self.origin: dict[str, Origin] = {}
        self.estimates: set[str] = set()
        self.refused: set[str] = set()

    def reading(self, name: str, reading: Reading | None, origin: Origin) -> None:
        if reading is not None:
            self.figure(name, reading.value, reading.low, reading.high, origin)

    def figure(self, name: str, value: Any, low: Any, high: Any, origin: Origin) -> None:
        self.figures[name] = value
        self.origin[name] = origin
        if low != high:
            self.spread[name] = (low, high)
        else:
            self.spread.pop(name, None)

    def readings(self, table: Table, file: FileRead, keys: tuple[str, ...], **names: str) -> None:
        """Take readings from a table: name of the figure = key in the table."""
        for name, key in names.items():
            if (*keys, key) in file.refused:
                self.refused.add(name)
            self.reading(name, getattr(table, key), Origin(file.path, (*keys, key)))

    def take(self, other: _Gathering) -> None:
        """Take all that another has gathered."""
        self.figures.update(other.figures)
        self.spread.update(other.spread)
        self.origin.update(other.origin)
        self.estimates |= other.estimates
        self.refused |= other.refused

    def put_over(self, other: _Gathering) -> None:
        """Take what another says in the place of what is said here; what it refused is lost."""
        for name in (*other.refused, *(self.figures.keys() & other.figures.keys())):
            self.drop(name)
        self.refused -= other.figures.keys()
        self.take(other)

    def drop(self, name: str) -> None:
        """Let go of a figure."""
        self.figures.pop(name, None)
        self.spread.pop(name, None)
        self.origin.pop(name, None)

    def copy(self) -> _Gathering:
        """Give another that has gathered the same."""
        made = _Gathering()
        made.figures = self.figures.copy()
        made.spread = self.spread.copy()
        made.origin = self.origin.copy()
        made.estimates = self.estimates.copy()
        made.refused = self.refused.copy()
        return made

    def damper(self) -> Damper:
        """Give the record of what has been gathered."""
        return Damper(
            **self.figures,
            spread=self.spread,
            origin=self.origin,
            estimates=frozenset(self.estimates),
            refused=frozenset(self.refused),
        )


def dampers(team: Team, build: FileRead) -> list[Damper]:
    """Give the four dampers of a build, as far as its file says what is in them.

    An end that the file lacks gives no dampers.
    """
    model = build.model
    if not isinstance(model, Build):
        return []
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
    event, event_file = team.event_of(model)
    if event is not None and event_file is not None:
        shared.take(_of_event(team, event, event_file))
    car, car_file = team.car_of(model)
    if car is not None:
        shared.figures["car_class"] = car.car_class
    found = []
    for end in ("front", "rear"):
        table: End | None = getattr(model, end)
        if table is None:
            continue
        above = shared.copy()
        above.figures["end"] = end
        if car_file is not None:
            above.put_over(_said(team, getattr(car, end, None), car_file, (end,), keep=True))
        above.put_over(_said(team, table, build, (end,)))
        both = above.copy()
        _take_parts(both, team)
        for side in ("left", "right"):
            own = _said(team, getattr(table, side), build, (end, side))
            fits_own = not own.refused.isdisjoint(PART_KINDS) or any(
                kind in own.figures for kind in PART_KINDS
            )
            made = (above if fits_own else both).copy()
            made.figures["side"] = side
            made.put_over(own)
            if fits_own:
                _take_parts(made, team)
            if model.style == "emulsion" and "air" not in made.figures:
                made.figures["air"] = None  # poured in, but not said how much
            found.append(made.damper())
    return found


def _of_event(team: Team, event: Event, file: FileRead) -> _Gathering:
    """Give what there is to gather of an event, gathered once for all builds for it."""
    known: _Gathering | None = team.gathered.get(("event", file.id))
    if known is None:
        known = team.gathered["event", file.id] = _Gathering()
        known.readings(
            event,
            file,
            (),
            coldest="coldest",
            hottest="hottest",
            event_altitude="altitude",
            highest="highest",
        )
        by = event.arrive_by
        known.figure("arrive_by", by, by, by, Origin(file.path, ("arrive_by",)))
        if event.on is not None:
            on = float(event.on.toordinal())
            known.figure("event_on", on, on, on, Origin(file.path, ("on",)))
    return known


def _said(
    team: Team, table: Table | None, file: FileRead, keys: tuple[str, ...], keep: bool = False
) -> _Gathering:
    """Give what a table of a corner, or an end, says of a damper: readings, and the ids of parts.

    `keep` is for what is asked for again with other builds: that of a car.
    """
    where = (f"car {'.'.join(keys)}", file.id)
    found: _Gathering | None = team.gathered.get(where) if keep else None
    if found is not None:
        return found
    found = _Gathering()
    if file.refused:
        found.refused = {key for key in _SAID if (*keys, key) in file.refused}
    for key, value in table if table is not None else ():
        if value is None or key not in _SAID or key in found.refused:
            continue
        found.origin[key] = Origin(file.path, (*keys, key))
        if isinstance(value, Reading):
            found.figures[key] = value.value
            if value.low != value.high:
                found.spread[key] = (value.low, value.high)
        else:
            found.figures[key] = tuple(value) if key == "done" else value
    if keep:
        team.gathered[where] = found
    return found


def _take_parts(made: _Gathering, team: Team) -> None:
    """Take all that is known of the parts whose ids are gathered."""
    if made.figures["style"] == "emulsion":
        made.drop("bladder")
    for kind in PART_KINDS:
        ident = made.figures.get(kind)
        part = team.part(kind, ident)
        if ident is not None and part is not None:
            made.take(_gathered(team, kind, ident, part))
    _guess_oil_volume(made)


_READINGS = (
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
_SAID = frozenset((*_READINGS, "label", "done", *PART_KINDS))


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
    if ("body", ident, "cap") in part.file.refused:
        made.refused.add("cap")
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
    if viscosity_refused(team, ident):
        made.refused.add("viscosity_given")
        return
    blended = blend_of(team, ident)
    if blended is not None and table.viscosity is not None:
        made.figure("blend_viscosity", *blended[0], Origin(path, (*keys, "blend")))
        made.figure("blend_slope", *blended[1], whole)
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
        slopes = blended[1] if blended is not None else (oil.SILICONE_SLOPE,) * 3
        made.figure("slope_given", *slopes, whole)


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
    gone = {name for name, (of, _) in KEY_IN_PART.items() if of == kind}
    for item in fields(damper):
        if item.name not in ("spread", "origin", "estimates", "refused", *gone):
            made.figures[item.name] = getattr(damper, item.name)
    made.spread = {name: ends for name, ends in damper.spread.items() if name not in gone}
    made.origin = {name: place for name, place in damper.origin.items() if name not in gone}
    made.estimates = {name for name in damper.estimates if name not in gone}
    made.refused = {name for name in damper.refused if name not in gone}
    made.figures[kind] = ident
    made.take(_gathered(team, kind, ident, part))
    _guess_oil_volume(made)
    return made.damper()


def _gathered(team: Team, kind: str, ident: str, part: Sourced) -> _Gathering:
    """Give what there is to gather of a part, gathered once for all dampers that have it."""
    known: _Gathering | None = team.gathered.get((kind, ident))
    if known is None:
        known = team.gathered[kind, ident] = _Gathering()
        _TAKE[kind](known, team, part, ident)
    return known


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
