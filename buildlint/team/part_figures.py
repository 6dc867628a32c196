"""The figures that a damper has from each of its parts."""

from __future__ import annotations

from typing import Any

from buildlint.files.derived import derived
from buildlint.files.holes import Holes
from buildlint.files.oil_model import Oil
from buildlint.files.part_models import Bladder, Body, Piston, Shaft, Spring
from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.tables import Table
from buildlint.measures.damper import KEYS_OF_PART, Damper
from buildlint.measures.origin import Origin
from buildlint.physics import displacement, oil
from buildlint.physics import spring as springs
from buildlint.team.oils import Point, blend_of, by_share, viscosity_refused
from buildlint.team.repository import Sourced, Team

__all__ = ["DamperDraft", "draft_of", "guess_oil_volume"]


class DamperDraft:
    """Figures of one damper, each with its ends and where it was read."""

    def __init__(self) -> None:
        self.figures: dict[str, Any] = {}
        self.spread: dict[str, tuple[Any, Any]] = {}
        self.origin: dict[str, Origin] = {}
        self.estimates: set[str] = set()
        self.refused: set[str] = set()

    def reading(self, name: str, reading: Reading | None, origin: Origin) -> None:
        """Take a reading, if there is one."""
        if reading is not None:
            self.figure(name, reading.value, reading.low, reading.high, origin)

    def figure(self, name: str, value: Any, low: Any, high: Any, origin: Origin) -> None:
        """Take a figure, its least and its most."""
        self.figures[name] = value
        self.origin[name] = origin
        if low != high:
            self.spread[name] = (low, high)
        else:
            self.spread.pop(name, None)

    def about(self, name: str, value: float, half: float, origin: Origin) -> None:
        """Take a figure, give or take so much."""
        self.figure(name, value, value - half, value + half, origin)

    def readings(self, table: Table, file: FileRead, keys: tuple[str, ...], **names: str) -> None:
        """Take readings from a table: name of the figure = key in the table."""
        for name, key in names.items():
            if (*keys, key) in file.refused:
                self.refused.add(name)
            self.reading(name, getattr(table, key), Origin(file.path, (*keys, key)))

    def take(self, other: DamperDraft) -> None:
        """Take all that another has gathered."""
        self.figures.update(other.figures)
        self.spread.update(other.spread)
        self.origin.update(other.origin)
        self.estimates |= other.estimates
        self.refused |= other.refused

    def put_over(self, other: DamperDraft) -> None:
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

    def copy(self) -> DamperDraft:
        """Return another that has gathered the same."""
        made = DamperDraft()
        made.figures = self.figures.copy()
        made.spread = self.spread.copy()
        made.origin = self.origin.copy()
        made.estimates = self.estimates.copy()
        made.refused = self.refused.copy()
        return made

    def damper(self) -> Damper:
        """Return the record of what has been gathered."""
        return Damper(
            **self.figures,
            spread=self.spread,
            origin=self.origin,
            estimates=frozenset(self.estimates),
            refused=frozenset(self.refused),
        )


#: Oil at filling, where it is not measured: the bore's area times length, give or take this share.
OIL_GUESS = 0.15


def draft_of(team: Team, kind: str, ident: str, part: Sourced) -> DamperDraft:
    """Return what there is to gather of a part, gathered once for all dampers that have it."""
    known: DamperDraft | None = team.drafts.get((kind, ident))
    if known is None:
        known = team.drafts[kind, ident] = DamperDraft()
        _TAKE[kind](known, team, part, ident)
    return known


def _take_body(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    body = part.table
    assert isinstance(body, Body)
    made.readings(body, part.file, ("body", ident), **KEYS_OF_PART["body"])
    if ("body", ident, "cap") in part.file.refused:
        made.refused.add("cap")
    made.figure("cap", body.cap, body.cap, body.cap, Origin(part.file.path, ("body", ident, "cap")))


def _take_shaft(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    assert isinstance(part.table, Shaft)
    made.readings(part.table, part.file, ("shaft", ident), **KEYS_OF_PART["shaft"])


def _take_piston(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    piston = part.table
    assert isinstance(piston, Piston)
    made.readings(piston, part.file, ("piston", ident), **KEYS_OF_PART["piston"])
    holes: Holes | None = piston.holes
    if holes is not None:
        made.figure(
            "holes",
            tuple((count, size.value) for count, size in holes.groups),
            tuple((count, size.low) for count, size in holes.groups),
            tuple((count, size.high) for count, size in holes.groups),
            Origin(part.file.path, ("piston", ident, "holes")),
        )


def _take_bladder(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    bladder = part.table
    assert isinstance(bladder, Bladder)
    keys = ("bladder", ident)
    made.readings(bladder, part.file, keys, **KEYS_OF_PART["bladder"])
    cup = bladder.cup
    if cup is None or cup.radius is None or cup.depth is None:
        return
    room = derived(displacement.cup_room, cup.radius[:3], cup.depth[:3])
    for name in ("bladder_into_body", "bladder_into_cap"):
        if name not in made.figures:
            made.figure(name, *room, Origin(part.file.path, (*keys, "cup")))
            made.estimates.add(name)


def _take_oil(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    table = part.table
    assert isinstance(table, Oil)
    path, keys = part.file.path, ("oil", ident)
    whole = Origin(path, keys)
    made.readings(table, part.file, keys, **KEYS_OF_PART["oil"])
    for name in ("expansion", "density"):
        if name in made.figures:
            continue
        known = by_share(team, ident, name)
        if known is None:
            made.refused.add(name)
        else:
            made.figure(name, *known, Origin(path, (*keys, "blend")) if table.blend else whole)
    if viscosity_refused(team, ident):
        made.refused.add("viscosity_given")
        return
    blended = blend_of(team, ident)
    if blended is not None and table.viscosity is not None:
        made.figure("blend_viscosity", *blended[0], Origin(path, (*keys, "blend")))
        made.figure("blend_slope", *blended[1], whole)
    _take_viscosity(made, table, blended, whole)
    _take_slope(made, table, blended, whole)


def _take_viscosity(made: DamperDraft, table: Oil, blended: Point | None, whole: Origin) -> None:
    path, keys = whole
    given = table.kinematic(table.viscosity, table.at)
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


def _take_slope(made: DamperDraft, table: Oil, blended: Point | None, whole: Origin) -> None:
    """Take what says how the oil thins: a second point, else its coefficient, else the usual."""
    path, keys = whole
    if table.second is not None and table.second.at is not None:
        second = table.kinematic(table.second.viscosity, table.second.at)
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


def _take_spring(made: DamperDraft, team: Team, part: Sourced, ident: str) -> None:
    table = part.table
    assert isinstance(table, Spring)
    keys = ("spring", ident)
    whole = Origin(part.file.path, keys)
    modulus = springs.SHEAR_MODULUS
    soft = modulus * (1.0 - springs.SHEAR_MODULUS_BELOW)
    hard = modulus * (1.0 + springs.SHEAR_MODULUS_ABOVE)
    made.figure("shear_modulus", modulus, soft, hard, whole)
    made.readings(table, part.file, keys, **KEYS_OF_PART["spring"])
    wire, diameter, coils = table.wire, table.mean_diameter, table.coils
    if wire is None or coils is None:
        return
    if diameter is not None and table.rate is None and wire.high < diameter.low:
        stiff = table.shear_modulus[:3] if table.shear_modulus else (modulus, soft, hard)
        rate = derived(springs.wire_rate, wire[:3], diameter[:3], coils[:3], stiff)
        made.figure("spring_rate", *rate, Origin(part.file.path, (*keys, "wire")))
    if table.solid_length is None:
        # ends that are not ground stand one wire higher
        solid = derived(
            lambda d, n, not_ground: springs.solid_length(d, n) + not_ground * d,
            *(wire[:3], coils[:3], (0.0, 0.0, 1.0)),
        )
        made.figure("solid_length", *solid, Origin(part.file.path, (*keys, "wire")))
        made.estimates.add("solid_length")


_TAKE = {
    "body": _take_body,
    "shaft": _take_shaft,
    "piston": _take_piston,
    "bladder": _take_bladder,
    "oil": _take_oil,
    "spring": _take_spring,
}


def guess_oil_volume(made: DamperDraft) -> None:
    """Take the bore's area times the body's length, where the oil at filling was not measured."""
    figures = made.figures
    if "oil_volume" in figures or "bore" not in figures or "body_length" not in figures:
        return

    bore, length = (
        (figures[name], *made.spread.get(name, (figures[name],) * 2))
        for name in ("bore", "body_length")
    )
    volume = derived(
        lambda bore, length, filled: displacement.circle_area(bore) * length * filled,
        *(bore, length, (1.0, 1.0 - OIL_GUESS, 1.0 + OIL_GUESS)),
    )
    made.figure("oil_volume", *volume, made.origin["body_length"])
    made.estimates.add("oil_volume")
