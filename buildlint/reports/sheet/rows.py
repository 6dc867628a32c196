"""The rows of the bench sheet's tables: the parts of an end, and the readings to build to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from buildlint.files.models import Build
from buildlint.files.part_models import PART_KINDS
from buildlint.files.readings import Reading
from buildlint.judging.curves import Missing, room
from buildlint.judging.labels import CapLabel
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.wording import caliper, cut, inside, number, quantity
from buildlint.team.repository import Team
from buildlint.text.words import listed

__all__ = ["LENGTHS", "Cell", "Row", "in_words", "part_rows", "reading_as", "target_rows"]

NOT_GIVEN = "not given"
REFUSED = "not known: see the mistakes in the files"


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell: its main words, more beside them, and whether a figure is there."""

    main: str
    more: tuple[str, ...] = ()
    known: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table: its name, left and right, the window if any, whether it is to be read."""

    name: str
    left: Cell
    right: Cell
    window: Cell | None = None
    read: bool = True

    @property
    def alike(self) -> bool:
        """Whether left and right say the same, which is then said once."""
        return self.left == self.right


def _row(
    name: str,
    pair: Sequence[Damper],
    cell: Callable[[Damper], Cell],
    window: Cell | None = None,
) -> Row:
    return Row(name, cell(pair[0]), cell(pair[1]), window)


# --- parts ---------------------------------------------------------------------------------------

# Of each kind of part: its readings in words, as they are written in the parts file.
_READINGS = {
    "body": {"bore": "bore %s", "stroke": "stroke %s", "gas": "%s of gas over the bladder"},
    "shaft": {"diameter": "%s", "coating": "coating: %s"},
    "piston": {"holes": "holes %s", "taper_to": "tapering to %s", "chamfer": "edges broken by %s"},
    "bladder": {"bore": "for a bore of %s"},
    "oil": {"label": "bottle: %s"},
    "spring": {"rate": "%s", "free_length": "free length %s", "wire": "wire %s"},
}
# What matters so much that the sheet says where it is missing.
_NEEDED = {"bore", "stroke", "diameter", "holes"}


def part_rows(team: Team, pair: Sequence[Damper]) -> Iterator[Row]:
    """Return a row for each part of the left and right damper of an end."""
    for kind in PART_KINDS:
        if kind == "bladder" and pair[0].style == "emulsion":
            continue
        if kind == "spring" and not any(d.spring or "spring" in d.refused for d in pair):
            continue
        yield _row(kind, pair, partial(_part, team, kind))


def _part(team: Team, kind: str, damper: Damper) -> Cell:
    ident: str | None = getattr(damper, kind)
    if kind in damper.refused:
        return Cell(REFUSED, known=False)
    if ident is None:
        return Cell(NOT_GIVEN, known=False)
    part = team.part(kind, ident)
    if part is None:
        return Cell(ident, ("not found in the parts files",), known=False)
    more = [_viscosity(damper)] if kind == "oil" else []
    for key, words in _READINGS[kind].items():
        value = getattr(part.table, key)
        if value is not None:
            more.append(words % cut(str(getattr(value, "text", value))))
        elif key in _NEEDED:
            more.append(f"{key} not known")
    if kind == "body" and damper.cap is not None:
        more.append(f"{damper.cap} cap")
    blend = getattr(part.table, "blend", None)
    if blend:
        more.append(
            "blend of " + ", ".join(f"{number(s.value * 100)} % {i}" for i, s in blend.items())
        )
    return Cell(ident, tuple(more))


def _viscosity(damper: Damper) -> str:
    given, at = damper.viscosity_given, damper.viscosity_given_at
    if given is None or at is None or "viscosity_given" in damper.refused:
        return "viscosity not known"
    return f"{quantity(given, 'cSt', 4)} at {quantity(at, 'degC', 3)}"


# --- readings to build to ------------------------------------------------------------------------

_SIDES = ("left", "right")


def target_rows(
    build: Build,
    pair: Sequence[Damper],
    windows: Mapping[str, tuple[float, float] | None],
    alike: Mapping[str, str],
    caps: Mapping[str, CapLabel],
) -> Iterator[Row]:
    """Return the readings that the left and right damper of an end are built to.

    `windows` has, by reading, the values between which every must that it enters holds, all else as
    planned; `alike` by how much left and right may differ. `caps` has the label of each corner.
    """
    emulsion = pair[0].style == "emulsion"
    yield _row("oil at filling", pair, _filling)
    if emulsion or any(d.air or "air" in d.refused for d in pair):
        yield _row("air left in", pair, partial(_volume, "air"))
    for name, words in LENGTHS.items():
        window = _window(build, pair, name, windows.get(name), alike.get(name))
        yield _row(words, pair, partial(_planned, build, name), window)
    left, right = (Cell("  ".join(caps[d.corner].lines)) for d in pair)
    yield Row("on the cap", left, right, read=False)


#: The readings of a damper that are planned, and read once it is built.
LENGTHS = {
    "hold_back": "hold-back",
    "rebound": "rebound",
    "length": "length, eye to eye",
    "limiter": "limiter",
    "collar": "collar",
}


def _planned(build: Build, name: str, damper: Damper) -> Cell:
    """Return what is planned: of a damper that is built, what its end says, where it says so."""
    plan = getattr(getattr(build, damper.end), name, None)
    if isinstance(plan, Reading) and build.bench is not None and build.bench.on is not None:
        return Cell(in_words(name, plan.value, plan.unit, damper))
    return reading_as(build, name, damper)


def reading_as(build: Build, name: str, damper: Damper) -> Cell:
    """Return a reading of a damper as it is read at the bench, in the unit that the file has."""
    value: float | None = getattr(damper, name)
    if name in damper.refused:
        return Cell(REFUSED, known=False)
    if name == "limiter" and value == 0.0:
        return Cell("none")
    if value is None:
        if name == "hold_back" and damper.style == "emulsion":
            return Cell("none", ("close the cap with the shaft fully out",))
        return Cell(NOT_GIVEN, known=False)
    return Cell(in_words(name, value, _unit(build, damper, name), damper))


def in_words(name: str, value: float, unit: str, damper: Damper) -> str:
    """Return a length as a caliper shows it; a rebound as a share of the stroke, and in mm."""
    if name != "rebound":
        return caliper(value, unit)
    share, stroke, limiter = quantity(value, "1", 3), damper.stroke, damper.limiter
    if stroke is None or limiter is None or stroke <= limiter:
        return f"{share} of the stroke"
    return f"{share} = {(stroke - limiter) * value * 1e3:.1f} mm"


def _unit(build: Build, damper: Damper, name: str) -> str:
    """Return the unit in which the build's file has a reading of a damper."""
    end: Any = getattr(build, damper.end)
    for table in (getattr(end, damper.side, None), end):
        value = getattr(table, name, None)
        if isinstance(value, Reading):
            return value.unit
    return "mm"


def _volume(name: str, damper: Damper) -> Cell:
    value: float | None = getattr(damper, name)
    if value is None or name in damper.refused:
        return Cell(REFUSED if name in damper.refused else NOT_GIVEN, known=False)
    return Cell(quantity(value, "ml", 3))


def _filling(damper: Damper) -> Cell:
    cell = _volume("oil_volume", damper)
    if cell.known and "oil_volume" in damper.estimates:
        return Cell(f"about {cell.main}", ("bore times length of the tube",))
    return cell


def _window(
    build: Build,
    pair: Sequence[Damper],
    name: str,
    window: tuple[float, float] | None,
    alike: str | None,
) -> Cell | None:
    """Return where a reading has to lie so that every must holds, all else as planned."""
    both = (f"sides within {alike}",) if alike else ()
    planned = all(getattr(d, name) is not None for d in pair)
    if name == "hold_back" and planned and pair[0].style != "emulsion":
        found = room(pair[0])
        if isinstance(found, Missing):
            return Cell("not checked", (f"needs {listed(found.names)}", *both), known=False)
        if window is None:
            return Cell("none", ("at no hold-back is every must sure to hold", *both), known=False)
    if window is not None:
        return Cell(inside(*window, _unit(build, pair[0], name)), both)
    return Cell(both[0]) if both else None
