"""What the plots show, in words with their main figures: for those who cannot see them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from buildlint.judging.curves import Curve, Forces, Missing, Room, Thinning
from buildlint.judging.values import lacking, value_of
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.wording import WHEN, quantity, within
from buildlint.text.words import clean, listed

__all__ = [
    "force_words",
    "missing_words",
    "planned_words",
    "room_words",
    "thinning_words",
]


def missing_words(found: Missing) -> str:
    """Say that nothing could be drawn, and what is missing for it."""
    return f"Not drawn: needs {listed([*map(clean, found.names)]) or 'figures'}."


def planned_words(dampers: Sequence[Damper]) -> str:
    """Say the planned hold-back of one damper, or of both sides; nothing where none is known."""
    said = {
        d.side: quantity(d.hold_back, "mm")
        for d in dampers
        if d.hold_back is not None and "hold_back" not in d.refused
    }
    if len(said) == len(dampers) and len(set(said.values())) == 1:
        return next(iter(said.values()))
    return ", ".join(f"{side} {text}" for side, text in said.items())


def room_words(found: Room, dampers: Sequence[Damper]) -> str:
    """Say how much of its room the bladder uses at the planned hold-back, and which ones work."""
    planned = planned_words(dampers)
    text = f"Planned hold-back: {planned}. " if planned else "No hold-back is planned yet. "
    damper = dampers[0]
    if planned:
        into_body = _uses(found.into_body, damper, "into_body_use")
        into_cap = _uses(found.into_cap, damper, "into_cap_use")
        side = f" ({damper.side})" if "," in planned else ""
        text += f"Then{side} the bladder uses, of its room into the body, {into_body}; of its room "
        text += f"into the cap, {into_cap}. "
    if found.window is None:
        text += "At no hold-back is every must sure to hold."
    else:
        text += f"Every must holds with a hold-back of {within(*found.window)}."
    return text


def _uses(curves: Sequence[Curve], damper: Damper, name: str) -> str:
    said = []
    for curve in curves:
        if not lacking(damper, name, curve.condition):
            use = value_of(damper, name, curve.condition)
            said.append(f"{use * 100.0:.0f} % {WHEN[curve.condition]}")
    return listed(said)


def thinning_words(name: str, found: Thinning) -> str:
    """Say the viscosity of an oil at the temperatures that are known, else at the ends drawn."""
    known = found.marks or tuple(("", t) for t, _ in (found.points[0], found.points[-1]))
    said = []
    for condition, temperature in sorted(known, key=lambda mark: mark[1]):
        when = f" {WHEN[condition]}" if condition else ""
        viscosity = _between(found.points, temperature)
        said.append(f"{quantity(viscosity, 'cSt', 3)} at {quantity(temperature, 'degC', 3)}{when}")
    return f"{name}: {listed(said)}."


def _between(points: Sequence[tuple[float, float]], at: float) -> float:
    """Return a figure between two points that lie close together."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


#: The speed at which the captions read the force (m/s): a quiet movement of the wheel.
SLOW = 0.1


# From here on the oil may shear-thin (m^2/s, m/s).
_THICK = 1000e-6
_FAST = 2.0


def force_words(found: Forces, damper: Damper) -> str:
    """Say the force at a low speed and the ceiling going in, at each condition."""
    said, ceilings = [], []
    for curve in found.curves:
        when = WHEN[curve.condition]
        force = _between(curve.points, SLOW)
        said.append(f"{quantity_of(force)} {when}")
        ceilings.append(f"{quantity(curve.speed, 'm/s', 2)} ({quantity_of(curve.ceiling)}) {when}")
    text = f"Going in at {SLOW:g} m/s the oil resists with {listed(said)}. Going in faster than "
    text += f"{listed(ceilings)} the oil can cavitate: the force then rises no further, and the "
    text += "damper goes slack on the way back. Going out has no such ceiling. Faster than "
    text += f"{quantity(found.rough, 'm/s', 2)} forces are within 15 %."
    if damper.style == "emulsion":
        text += " Worked out for the oil without the air in it."
    if damper.viscosity_given is not None and damper.viscosity_given >= _THICK:
        text += " Of oil as thick as this the figures are only indicative."
    elif found.fastest > _FAST:
        text += f" Above {_FAST:g} m/s the figures are only indicative."
    return f"{text}{_also(found.missing)}"


def quantity_of(force: float) -> str:
    """Return a force in newtons.

    >>> quantity_of(19.398)
    '19.4 N'
    """
    return f"{force:.1f} N"


def _also(missing: Sequence[str]) -> str:
    return (
        f" Not all of it is drawn: the rest needs {listed([*map(clean, missing)])}."
        if missing
        else ""
    )
