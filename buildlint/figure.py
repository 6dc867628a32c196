"""A measure of a damper, of two, or of the car, worked out with its bounds or what is missing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import inf
from typing import Any

from buildlint.bounds import Bounds, Swings, bounds
from buildlint.damper import Damper
from buildlint.measures import MEASURES, Measure, plan
from buildlint.plans import CONDITIONS, Plan

__all__ = [
    "Figure",
    "alike",
    "all_alike",
    "car_figure",
    "conditions_of",
    "difference",
    "figure_of",
    "front_over_rear",
    "lacks",
    "named",
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


def figure_of(
    measure: Measure, damper: Damper, condition: str, known: dict[Any, Bounds | str] | None = None
) -> Figure:
    """Work out a measure of a damper at a condition, with its bounds within all tolerances.

    `known` keeps what has been worked out: the same readings give the same figure, which then
    lacks the names of its readings (`named` gives them).
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
        except ValueError as error:
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
    return replace(found, names=lambda: [damper.in_words(name) for name in here.inputs])


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


def alike(measure: Measure, left: Damper, right: Damper) -> bool:
    """Say whether a measure is the same reading by reading, from the same places, on both sides.

    One that has words for why it is not so is alike too where these are the same, and so is what
    it cannot do without.
    """
    names = stands_on(measure.name)
    if measure.why_not and left.end == right.end:
        here = plan(measure.name)
        missing, other = (figure_of(measure, damper, "bench").missing for damper in (left, right))
        return (
            missing == other
            and _same_readings({measure.about, *here.inputs} - here.optional, left, right)
            and (bool(missing) or why_not(measure, left) == why_not(measure, right))
        )
    return _same_readings(names, left, right)


@cache
def stands_on(name: str) -> frozenset[str]:
    """Give the readings that a measure stands on at any condition."""
    every = (plan(name, condition).inputs for condition in CONDITIONS)
    return frozenset((MEASURES[name].about, *(n for inputs in every for n in inputs)))


def _same_readings(names: Iterable[str], left: Damper, right: Damper) -> bool:
    return all(
        getattr(left, name, None) == getattr(right, name, None)
        and left.spread.get(name) == right.spread.get(name)
        and left.origin.get(name) == right.origin.get(name)
        for name in names
    )


def all_alike(measure: Measure, dampers: Sequence[Damper]) -> bool:
    """Say whether a measure is the same reading by reading on all of some dampers."""
    return all(alike(measure, dampers[0], other) for other in dampers[1:])


def share_of(found: Bounds, whole: float) -> Bounds:
    """Give a figure as a share of a whole; one of nothing stays nothing."""
    if whole == 0.0:
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
    except (ValueError, ZeroDivisionError) as error:
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
    if placed and _same_readings(here.inputs, left, right):
        return Bounds(0.0, 0.0, 0.0)
    low = measure.floor if measure.floor is not None else -inf
    found = _together(
        here, (left, right), (1, -1), lambda figures: max(figures[0], low) - max(figures[1], low)
    )
    most = max(abs(found.low), abs(found.high))
    least = 0.0 if found.low <= 0.0 <= found.high else min(abs(found.low), abs(found.high))
    return replace(found, value=abs(found.value), low=least, high=most)


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
    values: list[Any] = []
    ends: list[tuple[Any, Any]] = []
    seen: dict[Any, int] = {}
    places: list[list[int]] = []
    names: list[tuple[str, Damper]] = []
    ways: list[int] = []
    for damper, sign in zip(dampers, signs, strict=True):
        slots = []
        for name, way in zip(here.inputs, here.ways, strict=True):
            value = getattr(damper, name)
            spread = damper.spread.get(name, (value, value))
            # readings of no known place are as many as there are dampers
            key = (name, damper.origin.get(name, damper.corner), value, spread)
            if key not in seen:
                seen[key] = len(values)
                values.append(value)
                ends.append(spread)
                names.append((name, damper))
                ways.append(sign * way)
            elif ways[seen[key]] != sign * way:
                ways[seen[key]] = 0
            slots.append(seen[key])
        places.append(slots)

    # twins that stand on the same readings are worked out once
    different = list(dict.fromkeys(map(tuple, places)))
    which = [different.index(tuple(slots)) for slots in places]

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
        figures = [figure(n, [at[i] for i in slots]) for n, slots in enumerate(different)]
        return combine([figures[i] for i in which])

    found = bounds(work, values, [e[0] for e in ends], [e[1] for e in ends], ways)

    def words() -> list[str]:
        said = [(damper.in_words(name), damper.end) for name, damper in names]
        ends_of: dict[str, set[str]] = {}
        for name, end in said:
            ends_of.setdefault(name, set()).add(end)
        # where front and rear each have one of their own, it is said whose
        return [f"{name} at the {end}" if len(ends_of[name]) > 1 else name for name, end in said]

    return replace(found, names=words)
