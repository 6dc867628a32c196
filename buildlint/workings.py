"""Work out a measure: follow the names of its parameters back to readings, at any values of them.

A measure is a function of plain floats whose parameters are named after readings of a damper, or
after other measures. A plan is that function with everything it stands on, in order. Judging,
tolerances, cures and comparing all run the same plan again with other values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf
from typing import Any

__all__ = ["Bounds", "Plan", "bounds", "make_plan"]

#: What `temperature` and `altitude` stand for at each condition.
CONDITIONS: dict[str, dict[str, str]] = {
    "bench": {"temperature": "bench_temperature", "altitude": "bench_altitude"},
    "cold": {"temperature": "coldest", "altitude": "event_altitude"},
    "hot": {"temperature": "hottest", "altitude": "event_altitude"},
}

# Flips from corner to corner of the tolerances, before the worst is taken as found.
_MOST_ROUNDS = 4

# Readings of a figure without end whose corners are all tried.
_MOST_TRIED = 10


@dataclass(frozen=True, slots=True)
class Plan:
    """A measure at one condition: the readings that go in, then one function after another.

    `optional` are the inputs that may be None. `conditional` says whether the condition matters.
    """

    inputs: tuple[str, ...]
    optional: frozenset[str]
    steps: tuple[tuple[Callable[..., Any], tuple[int, ...]], ...]
    conditional: bool

    def run(self, values: Sequence[Any]) -> Any:
        """Work the measure out; values stand in the order of `inputs`.

        Raises ValueError where the values make no sense together.
        """
        slots = list(values)
        for function, arguments in self.steps:
            slots.append(function(*[slots[i] for i in arguments]))
        return slots[-1] if self.steps else slots[0]


def make_plan(
    name: str, functions: Mapping[str, Callable[..., Any]], condition: str = "bench"
) -> Plan:
    """Make the plan of a measure from the functions that it may stand on.

    >>> def area(width, height): return width * height
    >>> def share(area, whole): return area / whole
    >>> plan = make_plan("share", {"area": area, "share": share})
    >>> plan.inputs, plan.run([2.0, 3.0, 12.0])
    (('width', 'height', 'whole'), 0.5)
    """
    here = CONDITIONS[condition]
    inputs: dict[str, bool] = {}  # name of a reading -> may be missing
    calls: dict[str, tuple[str, ...]] = {}  # function -> its arguments, in the order of need
    conditional = False

    def need(wanted: str, optional: bool) -> None:
        nonlocal conditional
        if wanted in functions:
            if wanted not in calls:
                arguments, free = parameters(functions[wanted])
                for argument in arguments:
                    need(argument, argument in free)
                calls[wanted] = arguments
            return
        conditional = conditional or wanted in here
        reading = here.get(wanted, wanted)
        inputs[reading] = inputs.get(reading, True) and optional

    need(name, False)
    order = [*inputs, *calls]
    place = {n: i for i, n in enumerate(order)}
    steps = tuple(
        (functions[call], tuple(place[here.get(a, a) if a not in calls else a] for a in arguments))
        for call, arguments in calls.items()
    )
    optional = frozenset(n for n, free in inputs.items() if free)
    return Plan(tuple(inputs), optional, steps, conditional)


def parameters(function: Callable[..., Any]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Give the names of a function's parameters, and those of them that have a default."""
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    defaults = function.__defaults__ or ()
    return names, frozenset(names[len(names) - len(defaults) :])


@dataclass(frozen=True, slots=True)
class Bounds:
    """A figure as read, the least and most within all tolerances, and what each reading does to it.

    `halves` gives, for each input that is not exact, half of what it moves the figure by itself;
    `swings` what it moves at the two extremes, all others at their worst; `names` are the inputs'
    names in the order of their numbers.
    """

    value: float
    low: float
    high: float
    halves: tuple[tuple[int, float], ...] = ()
    names: tuple[str, ...] = ()
    swings: tuple[tuple[int, float], ...] = ()

    def widest(self) -> tuple[str, float] | None:
        """Give the input whose tolerance widens the bounds most, and its share of all that do.

        >>> Bounds(1.0, 0.5, 1.5, (), ("a", "b", "c"), ((0, 1.0), (2, 3.0))).widest()
        ('c', 0.75)
        """
        total = sum(swing for _, swing in self.swings)
        if not self.names or not 0.0 < total < inf:
            return None
        index, swing = max(self.swings, key=lambda pair: pair[1])
        return self.names[index], swing / total


def bounds(
    work: Callable[[Sequence[Any]], float],
    values: Sequence[Any],
    lows: Sequence[Any],
    highs: Sequence[Any],
) -> Bounds:
    """Find the least and most of a figure while each value lies between its low and its high.

    Exact for a figure that, whatever the others are, rises or falls all the way with each value:
    its extremes are then at corners of the box. A corner is chosen by moving one value at a time,
    then each value is flipped until none makes it worse (the sense of one value may depend on
    another: warmer oil grows more the more there is of it).

    >>> b = bounds(lambda v: v[0] * v[1], [2.0, 3.0], [1.9, 2.5], [2.1, 3.5])
    >>> round(b.low, 3), b.value, round(b.high, 3)
    (4.75, 6.0, 7.35)
    """
    value = work(values)
    places = range(len(values))
    varying = [i for i in places if lows[i] != highs[i]]
    if not varying:
        return Bounds(value, value, value)
    least, most = list(values), list(values)
    halves = []
    for i in varying:
        moved = list(values)
        moved[i] = lows[i]
        at_low = work(moved)
        moved[i] = highs[i]
        at_high = work(moved)
        halves.append((i, abs(at_high - at_low) / 2.0))
        rises = at_high >= at_low
        most[i], least[i] = (highs[i], lows[i]) if rises else (lows[i], highs[i])
    high, up = _climb(work, most, varying, lows, highs, 1.0)
    low, down = _climb(work, least, varying, lows, highs, -1.0)
    low = -low
    if low == inf and len(varying) <= _MOST_TRIED:
        # where no reading by itself makes it finite, none says which way is less: try every corner
        corners = product(*((lows[i], highs[i]) if i in varying else (values[i],) for i in places))
        low = min(work(corner) for corner in corners)
    swings = tuple((i, a + b) for i, a, b in zip(varying, up, down, strict=True))
    return Bounds(value, min(low, value), max(high, value), tuple(halves), swings=swings)


def _climb(
    work: Callable[[Sequence[Any]], float],
    corner: list[Any],
    varying: Sequence[int],
    lows: Sequence[Any],
    highs: Sequence[Any],
    sign: float,
) -> tuple[float, list[float]]:
    """Flip values at a corner until none makes it worse: the extreme, and what each flip loses."""
    best = sign * work(corner)
    lost: list[float] = []
    for _ in range(_MOST_ROUNDS):
        better = False
        lost = []
        for i in varying:
            was = corner[i]
            corner[i] = lows[i] if was == highs[i] else highs[i]
            now = sign * work(corner)
            lost.append(abs(best - now) if best != now else 0.0)
            if now > best:
                best, better = now, True
            else:
                corner[i] = was
        if not better:
            break
    return best, lost
