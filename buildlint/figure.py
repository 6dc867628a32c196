"""A measure of a damper, worked out with its bounds or what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import isfinite
from typing import Any

from buildlint.bounds import Bounds, Swings, bounds
from buildlint.damper import Damper
from buildlint.measures import MEASURES, Measure, plan
from buildlint.plans import CONDITIONS, Plan

__all__ = [
    "Figure",
    "conditions_of",
    "figure_of",
    "lacks",
    "needs_event",
    "share_of",
    "speaks",
    "stands_on",
    "why_not",
]

# What a figure over all conditions can do without only where there is no event.
_AT_EVENT = frozenset(CONDITIONS["cold"].values()) | frozenset(CONDITIONS["hot"].values())


@dataclass(frozen=True, slots=True)
class Figure:
    """A measure worked out for a damper: its bounds, or its id, or what is missing for it."""

    bounds: Bounds | None = None
    words: Any = None
    missing: tuple[str, ...] = ()
    plan: Plan | None = None


def speaks(measure: Measure, damper: Damper) -> bool:
    """Say whether a measure means anything for a damper (a bladder's use has no sense without one).

    What is not known yet (the cap of a body that is not found) counts as if it did.
    """
    if measure.only is None:
        return True
    has = getattr(damper, measure.only[0])
    return has is None or has == measure.only[1]


def conditions_of(measure: Measure, damper: Damper) -> tuple[str, ...]:
    """Give the conditions that a measure is judged at: those that the build has."""
    if not plan(measure.name).conditional:
        return ("bench",)
    if not damper.has_event:
        return ("bench",)
    # what a journey does shows only once it is over
    return tuple(c for c in CONDITIONS if c != "bench" or not measure.after_journey)


def needs_event(measure: Measure, damper: Damper) -> bool:
    """Say whether a measure is judged at an event too, and there is none."""
    here = plan(measure.name)
    return not damper.has_event and (here.conditional or not _AT_EVENT.isdisjoint(here.inputs))


def figure_of(
    measure: Measure, damper: Damper, condition: str, known: dict[Any, Bounds | str] | None = None
) -> Figure:
    """Work out a measure of a damper at a condition, with its bounds within all tolerances.

    `known` is a cache by readings; a figure out of it does not know whose they are: `named` adds
    that.
    """
    here = plan(measure.name, condition)
    values = [getattr(damper, name) for name in here.inputs]
    if damper.refused or None in values:
        missing = _lacks(here, values, damper)
        if missing:
            return Figure(missing=tuple(dict.fromkeys(damper.in_words(name) for name in missing)))
    if measure.unit in ("id", "yes"):
        return Figure(words=here.run(values), plan=here)
    spread = damper.spread
    ends = [
        spread.get(name, (value, value)) for name, value in zip(here.inputs, values, strict=True)
    ]
    key = (measure.name, condition, tuple(values), tuple(ends)) if known is not None else None
    found = known.get(key) if known is not None else None
    if found is None:
        try:
            work = here.often()
            ways = here.ways_at if here.away else here.ways
            found = bounds(work, values, [e[0] for e in ends], [e[1] for e in ends], ways)
            if measure.floor is not None:
                found = _floored(found, measure.floor)
        except (ValueError, ArithmeticError) as error:
            found = f"readings that go together ({error})"
        if known is not None:
            known[key] = found
    if isinstance(found, str):
        return Figure(missing=(found,))
    # what is kept may be another damper's, whose parts go by other names
    return Figure(bounds=named(found, here, damper) if known is None else found, plan=here)


def lacks(measure: Measure, damper: Damper, condition: str) -> bool:
    """Say whether something is missing for a measure of a damper at a condition."""
    here = plan(measure.name, condition)
    return bool(_lacks(here, [getattr(damper, name) for name in here.inputs], damper))


def _lacks(here: Plan, values: Sequence[Any], damper: Damper) -> list[str]:
    return [
        name
        for name, value in zip(here.inputs, values, strict=True)
        if name in damper.refused
        or (
            value is None
            and (name not in here.optional or (name in _AT_EVENT and damper.has_event))
        )
    ]


def named(found: Bounds, here: Plan, damper: Damper) -> Bounds:
    """Give the bounds of a figure of one damper with the names of the readings behind it."""
    return replace(found, names=lambda: [damper.read_as(name) for name in here.inputs])


def _floored(found: Bounds, floor: float) -> Bounds:
    if found.low >= floor:
        return found
    return replace(
        found,
        value=max(found.value, floor),
        low=max(found.low, floor),
        high=max(found.high, floor),
    )


def why_not(measure: Measure, damper: Damper) -> tuple[str, ...]:
    """Say in words why a measure is not so; nothing where it is, or has no words for it.

    All that it stands on must be known.
    """
    if not measure.why_not:
        return ()
    here = plan(measure.why_not)
    reasons: tuple[str, ...] = here.run([getattr(damper, name) for name in here.inputs])
    return reasons


@cache
def stands_on(name: str) -> frozenset[str]:
    """Give the readings that a measure stands on at any condition."""
    every = (plan(name, condition).inputs for condition in CONDITIONS)
    return frozenset((MEASURES[name].about, *(n for inputs in every for n in inputs)))


def share_of(found: Bounds, whole: float) -> Bounds:
    """Give a figure as a share of a whole; of nothing, or of what has no end, it stays as it is."""
    if whole == 0.0 or not isfinite(whole):
        return found
    ask = found.ask

    def share() -> Swings:
        swings = ask() if ask is not None else Swings()
        return Swings(*(tuple((i, swing / whole) for i, swing in part) for part in swings))

    return replace(
        found,
        value=found.value / whole,
        low=found.low / whole,
        high=found.high / whole,
        ask=share,
    )
