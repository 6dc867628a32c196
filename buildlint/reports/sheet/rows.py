"""The rows of the bench sheet's tables: the parts of an end, and the readings to build to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from buildlint.files.oil_model import Oil
from buildlint.files.part_models import PART_KINDS, Shaft
from buildlint.judging.curves import Missing, room
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.wording import cut, number, quantity, reading, within
from buildlint.team.repository import Team
from buildlint.text.words import listed

__all__ = ["Cell", "Row", "part_rows", "target_rows"]

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
    """A row of a table: its name, and what stands there for left and right."""

    name: str
    left: Cell
    right: Cell
    instead: str = ""

    @property
    def read(self) -> bool:
        """Whether it is a reading, to be written in by hand; else `instead` says what it is for."""
        return not self.instead

    @property
    def alike(self) -> bool:
        """Whether left and right say the same, which is then said once."""
        return self.left == self.right


def _row(
    name: str, pair: Sequence[Damper], cell: Callable[[Damper], Cell], instead: str = ""
) -> Row:
    return Row(name, cell(pair[0]), cell(pair[1]), instead)


# --- parts ---------------------------------------------------------------------------------------


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
    more = [text for text in _ABOUT[kind](team, damper) if text]
    note = getattr(part.table, "note", None)
    if note:
        more.append(f"note: {cut(note)}")
    return Cell(ident, tuple(more))


def _said(damper: Damper, words: str, name: str, unit: str, digits: int = 5) -> str:
    """Say a figure of a part in words with %s for it; that it is missing, where it is."""
    value = getattr(damper, name)
    if value is None or name in damper.refused:
        return words % "not known"
    return words % quantity(value, unit, digits)


def _body(team: Team, damper: Damper) -> Iterator[str]:
    yield _said(damper, "bore %s", "bore", "mm")
    yield _said(damper, "stroke %s", "stroke", "mm")
    yield _said(damper, "tube %s long", "body_length", "mm")
    if damper.cap == "sealed":
        yield _said(damper, "sealed cap, %s of gas over the bladder", "gas_volume", "mm^3")
    elif damper.cap == "vented":
        yield "vented cap"


def _shaft(team: Team, damper: Damper) -> Iterator[str]:
    yield _said(damper, "diameter %s", "shaft_diameter", "mm")
    part = team.part("shaft", damper.shaft)
    if part is not None and isinstance(part.table, Shaft) and part.table.coating:
        yield f"coating: {cut(part.table.coating)}"


def _piston(team: Team, damper: Damper) -> Iterator[str]:
    if damper.holes is None or "holes" in damper.refused:
        yield "holes not known"
    else:
        groups = (f"{count} x {quantity(size, 'mm')}" for count, size in damper.holes)
        yield f"holes {' + '.join(groups)}"
    if damper.taper_to is not None:
        yield _said(damper, "tapering to %s", "taper_to", "mm")
    if damper.chamfer is not None:
        yield _said(damper, "edges broken by %s", "chamfer", "mm")
    yield _said(damper, "diameter %s", "piston_diameter", "mm")
    yield _said(damper, "%s thick", "piston_thickness", "mm")


def _bladder(team: Team, damper: Damper) -> Iterator[str]:
    if damper.bladder_bore is not None:
        yield _said(damper, "for a bore of %s", "bladder_bore", "mm")
    for name, way in (("bladder_into_body", "body"), ("bladder_into_cap", "cap")):
        rough = name in damper.estimates
        text = _said(damper, f"into the {way} %s", name, "mm^3", 3 if rough else 5)
        yield f"{text} (an estimate from its cup)" if rough else text


def _oil(team: Team, damper: Damper) -> Iterator[str]:
    given, at = damper.viscosity_given, damper.viscosity_given_at
    if given is None or at is None or "viscosity_given" in damper.refused:
        yield "viscosity not known"
    else:
        yield f"{quantity(given, 'cSt', 4)} at {quantity(at, 'degC', 3)}"
    part = team.part("oil", damper.oil)
    if part is not None and isinstance(part.table, Oil):
        if part.table.blend:
            shares = (f"{number(s.value * 100)} % {i}" for i, s in part.table.blend.items())
            yield f"blend of {', '.join(shares)}"
        if part.table.label:
            yield f"bottle: {cut(part.table.label)}"


def _spring(team: Team, damper: Damper) -> Iterator[str]:
    yield _said(damper, "rate %s", "spring_rate", "N/mm", 3)
    if damper.free_length is not None:
        yield _said(damper, "free length %s", "free_length", "mm")
    if damper.wire is not None:
        yield _said(damper, "wire %s", "wire", "mm")


_ABOUT: dict[str, Callable[[Team, Damper], Iterator[str]]] = {
    "body": _body,
    "shaft": _shaft,
    "piston": _piston,
    "bladder": _bladder,
    "oil": _oil,
    "spring": _spring,
}


# --- readings to build to ------------------------------------------------------------------------


def target_rows(pair: Sequence[Damper], window: tuple[float, float] | None = None) -> Iterator[Row]:
    """Return the readings that the left and right damper of an end are built to, with tolerances.

    `window` are the hold-backs between which every must that they enter holds, where there are any.
    """
    emulsion = pair[0].style == "emulsion"
    yield _row("oil at filling", pair, _filling)
    if emulsion:
        yield _row("air poured in", pair, lambda d: _target(d, "air", "ml"))
    elif any(d.air or "air" in d.refused for d in pair):
        yield _row("air left in the oil", pair, lambda d: _target(d, "air", "ml"))
    yield _row("hold-back", pair, _hold_back)
    if not emulsion:
        found = partial(_window, window)
        yield _row("hold-back that works", pair, found, "the hold-back has to lie within this")
    yield _row("rebound", pair, lambda d: _target(d, "rebound", "1"))
    yield _row("length, eye to eye", pair, lambda d: _target(d, "length", "mm"))
    yield _row("limiter", pair, _limiter)
    yield _row("collar from its datum", pair, lambda d: _target(d, "collar", "mm"))


def _target(damper: Damper, name: str, unit: str) -> Cell:
    text = reading(damper, name, unit)
    if text is None:
        return Cell(REFUSED if name in damper.refused else NOT_GIVEN, known=False)
    return Cell(text)


def _filling(damper: Damper) -> Cell:
    cell = _target(damper, "oil_volume", "ml")
    if cell.known and "oil_volume" in damper.estimates:
        return Cell(cell.main, ("an estimate: bore times length of the tube",))
    return cell


def _hold_back(damper: Damper) -> Cell:
    cell = _target(damper, "hold_back", "mm")
    unsaid = damper.hold_back is None and "hold_back" not in damper.refused
    if unsaid and damper.style == "emulsion":
        return Cell("none", ("close the cap with the shaft fully out",))
    return cell


def _window(window: tuple[float, float] | None, damper: Damper) -> Cell:
    found = room(damper)
    if isinstance(found, Missing):
        return Cell("not checked", (f"needs {listed(found.names)}",), known=False)
    if window is not None:
        return Cell(within(*window), ("every must on it then holds",))
    if found.window is not None:
        return Cell(within(*found.window), ("as read; none of these is sure to hold",))
    return Cell("none", ("with these parts no hold-back works",))


def _limiter(damper: Damper) -> Cell:
    if damper.limiter == 0.0 and "limiter" not in damper.refused:
        return Cell("none")
    cell = _target(damper, "limiter", "mm")
    return Cell(cell.main, ("off the stroke",), cell.known) if cell.known else cell
