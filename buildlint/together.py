"""A figure of several dampers together: front over rear, left against right, with its bounds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import inf
from typing import Any

from buildlint.alike import same_readings
from buildlint.bounds import Bounds, bounds
from buildlint.damper import Damper
from buildlint.figure import Figure
from buildlint.measures import Measure, plan
from buildlint.plans import Plan

__all__ = ["car_figure", "difference", "front_over_rear"]


def car_figure(measure: Measure, dampers: Sequence[Damper], condition: str) -> Figure:
    """Work out a measure of the whole car: the mean of the front sides over that of the rear."""
    ends = [[d for d in dampers if d.end == end] for end in ("front", "rear")]
    if not all(ends):
        return Figure(missing=("both ends of the car",))
    here = plan(measure.name, condition)
    missing = [
        f"{damper.in_words(name)} at the {damper.end}"
        for damper in dampers
        for name in here.inputs
        if (getattr(damper, name) is None and name not in here.optional) or name in damper.refused
    ]
    if missing:
        return Figure(missing=tuple(dict.fromkeys(missing)))
    count = len(ends[0])

    def over(figures: Sequence[float]) -> float:
        return front_over_rear(figures[:count], figures[count:])

    try:
        signs = [1] * count + [-1] * len(ends[1])
        return Figure(bounds=_together(here, [*ends[0], *ends[1]], signs, over), plan=here)
    except (ValueError, ArithmeticError) as error:
        return Figure(missing=(f"readings that go together ({error})",))


def front_over_rear(front: Sequence[float], rear: Sequence[float]) -> float:
    """Give the mean of the front's figures over that of the rear's.

    >>> front_over_rear([1.0, 3.0], [4.0, 4.0])
    0.5
    """
    return (sum(front) / len(front)) / (sum(rear) / len(rear))


def difference(measure: Measure, here: Plan, left: Damper, right: Damper) -> Bounds:
    """Give how far left and right are apart, as read, at least and at most."""
    # readings of no known place are as many as there are dampers
    placed = all(name in left.origin for name in here.inputs if name in left.spread)
    if placed and same_readings(here.inputs, left, right):
        return Bounds(0.0, 0.0, 0.0)
    low = measure.floor if measure.floor is not None else -inf

    def apart(figures: Sequence[float]) -> float:
        one, other = (max(figure, low) for figure in figures)
        # of two that have no end, what they differ by may be anything
        return inf if one == other == inf else one - other

    found = _together(here, (left, right), (1, -1), apart)
    most = max(abs(found.low), abs(found.high))
    least = 0.0 if found.low <= 0.0 <= found.high else min(abs(found.low), abs(found.high))
    return replace(found, value=abs(found.value), low=least, high=most)


@dataclass(slots=True)
class _Readings:
    """The readings of several dampers for one plan, each place once.

    `slots` says for each damper which of them its figure is worked out at.
    """

    values: list[Any] = field(default_factory=list)
    ends: list[tuple[Any, Any]] = field(default_factory=list)
    ways: list[int] = field(default_factory=list)
    names: list[tuple[str, Damper]] = field(default_factory=list)
    slots: list[tuple[int, ...]] = field(default_factory=list)


def _together(
    here: Plan,
    dampers: Sequence[Damper],
    signs: Sequence[int],
    combine: Callable[[Sequence[float]], float],
) -> Bounds:
    """Bound a figure of several dampers, each worked out by the same plan.

    A reading that stands in one place for some of them is one reading: it moves them together.
    `signs` says for each damper which way its figure moves what `combine` makes of them.
    """
    readings = _readings(here, dampers, signs)
    low, high = ([end[i] for end in readings.ends] for i in (0, 1))
    work = _working(here, readings.slots, combine)
    found = bounds(work, readings.values, low, high, readings.ways)
    return replace(found, names=lambda: _in_words(readings.names))


def _readings(here: Plan, dampers: Sequence[Damper], signs: Sequence[int]) -> _Readings:
    found = _Readings()
    seen: dict[Any, int] = {}
    for damper, sign in zip(dampers, signs, strict=True):
        slots = []
        for name, way in zip(here.inputs, here.ways, strict=True):
            value = getattr(damper, name)
            spread = damper.spread.get(name, (value, value))
            # readings of no known place are as many as there are dampers
            key = (name, damper.origin.get(name, damper.corner), value, spread)
            if key not in seen:
                seen[key] = len(found.values)
                found.values.append(value)
                found.ends.append(spread)
                found.names.append((name, damper))
                found.ways.append(sign * way)
            elif found.ways[seen[key]] != sign * way:
                found.ways[seen[key]] = 0
            slots.append(seen[key])
        found.slots.append(tuple(slots))
    return found


def _working(
    here: Plan, slots: Sequence[tuple[int, ...]], combine: Callable[[Sequence[float]], float]
) -> Callable[[Sequence[Any]], float]:
    """Give what works the figure out at any values of the readings."""
    # twins that stand on the same readings are worked out once
    different = list(dict.fromkeys(slots))
    which = [different.index(each) for each in slots]
    run = here.often()
    # what moves one damper leaves the others as they were
    last: list[tuple[list[Any], float] | None] = [None] * len(different)

    def figure(number: int, at: list[Any]) -> float:
        before = last[number]
        if before is not None and before[0] == at:
            return before[1]
        found: float = run(at)
        last[number] = at, found
        return found

    def work(at: Sequence[Any]) -> float:
        figures = [figure(n, [at[i] for i in each]) for n, each in enumerate(different)]
        return combine([figures[i] for i in which])

    return work


def _in_words(names: Sequence[tuple[str, Damper]]) -> list[str]:
    """Name the readings; where front and rear each have one of their own, say whose."""
    said = [(damper.read_as(name), damper.end) for name, damper in names]
    ends_of: dict[str, set[str]] = {}
    for name, end in said:
        ends_of.setdefault(name, set()).add(end)
    return [f"{name} at the {end}" if len(ends_of[name]) > 1 else name for name, end in said]
