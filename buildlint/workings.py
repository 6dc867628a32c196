"""Work out a measure: follow the names of its parameters back to readings, at any values of them.

A measure is a function of plain floats whose parameters are named after readings of a damper, or
after other measures. A plan is that function with everything it stands on, in order. Judging,
tolerances, cures and comparing all run the same plan again with other values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import inf
from typing import Any, NamedTuple, TypeVar

__all__ = ["Bounds", "Plan", "Swings", "bounds", "make_plan", "moves", "since_bench"]

Function = TypeVar("Function", bound=Callable[..., Any])

#: What `temperature` and `altitude` stand for at each condition.
CONDITIONS: dict[str, dict[str, str]] = {
    "bench": {"temperature": "bench_temperature", "altitude": "bench_altitude"},
    "cold": {"temperature": "coldest", "altitude": "event_altitude"},
    "hot": {"temperature": "hottest", "altitude": "event_altitude"},
}

# Bounds asked for before a plan is made into one function: more than one build has.
_OFTEN = 40

# Flips from corner to corner of the tolerances, before the worst is taken as found.
_MOST_ROUNDS = 4

# Readings of a figure without end whose corners are all tried.
_MOST_TRIED = 10


@dataclass(frozen=True, slots=True)
class Plan:
    """A measure at one condition: the readings that go in, then one function after another.

    `optional` are the inputs that may be None. `conditional` says whether the condition matters.
    `ways` says for each input which way the figure goes when it rises: 1, -1, or 0 for either way.
    `away` are inputs that go the way of a step's result, or against it: the number of the input,
    that of the slot with the result, and 1 or -1.
    """

    inputs: tuple[str, ...]
    optional: frozenset[str]
    steps: tuple[tuple[Callable[..., Any], tuple[int, ...]], ...]
    conditional: bool
    ways: tuple[int, ...] = ()
    away: tuple[tuple[int, int, int], ...] = ()
    made: list[Callable[[Sequence[Any]], Any]] = field(default_factory=list, compare=False)
    asked: list[int] = field(default_factory=lambda: [0], compare=False)

    def often(self) -> Callable[[Sequence[Any]], Any]:
        """Give `run`; as one function in a piece, once it was asked for some times.

        It calls the same functions with the same values, so that nothing differs but the time.
        """
        if self.made:
            return self.made[0]
        count = self.asked[0] = self.asked[0] + 1
        if count > _OFTEN:
            self.made.append(_in_a_piece(self))
        return self.run

    def ways_at(self, corner: Sequence[Any]) -> Sequence[int]:
        """Give the ways at a corner: there it shows which way the inputs go that go with a step.

        Raises ValueError as `run` does.
        """
        if not self.away:
            return self.ways
        slots = list(corner)
        for function, arguments in self.steps[: self.away[-1][1] + 1 - len(slots)]:
            slots.append(function(*[slots[i] for i in arguments]))
        ways = list(self.ways)
        for number, slot, sign in self.away:
            ways[number] = sign if slots[slot] >= 0.0 else -sign
        return ways

    def run(self, values: Sequence[Any]) -> Any:
        """Work the measure out; values stand in the order of `inputs`.

        Raises ValueError where the values make no sense together.
        """
        slots = list(values)
        for function, arguments in self.steps:
            slots.append(function(*[slots[i] for i in arguments]))
        return slots[-1] if self.steps else slots[0]


def _in_a_piece(plan: Plan) -> Callable[[Sequence[Any]], Any]:
    """Give a plan's steps as one function, its slots as its variables."""
    count = len(plan.inputs)
    lines = ["def run(values):"]
    if count:
        lines.append(f"    {''.join(f's{i}, ' for i in range(count))} = values")
    for number, (_, arguments) in enumerate(plan.steps):
        given = ", ".join(f"s{i}" for i in arguments)
        lines.append(f"    s{count + number} = f{number}({given})")
    lines.append(f"    return s{count + len(plan.steps) - 1 if plan.steps else 0}")
    scope: dict[str, Any] = {f"f{i}": function for i, (function, _) in enumerate(plan.steps)}
    exec("\n".join(lines), scope)  # of names of our own making alone
    made: Callable[[Sequence[Any]], Any] = scope["run"]
    return made


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

    def is_still(call: str) -> bool:
        return condition == "bench" and "since_bench" in functions[call].__dict__

    def need(wanted: str, optional: bool) -> None:
        nonlocal conditional
        if wanted in functions:
            if is_still(wanted):
                conditional = True
                calls[wanted] = ()
            elif wanted not in calls:
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
        (
            functions[call] if arguments or not is_still(call) else _nothing,
            tuple(place[here.get(a, a) if a not in calls else a] for a in arguments),
        )
        for call, arguments in calls.items()
    )
    optional = frozenset(n for n, free in inputs.items() if free)
    ways = _ways(name, calls, functions, here)
    numbers = list(inputs)
    away = sorted(
        ((numbers.index(n), place[way.step], way.sign) for n, way in ways.items() if way.step),
        key=lambda entry: entry[1],
    )
    plain = tuple(0 if ways[n].step else ways[n].sign for n in inputs)
    return Plan(tuple(inputs), optional, steps, conditional, plain, tuple(away))


def since_bench(function: Function) -> Function:
    """Say of a function that it gives what has changed since the bench: nothing, at the bench."""
    function.__dict__["since_bench"] = True
    return function


def _nothing() -> float:
    return 0.0


def moves(up: str = "", down: str = "", away: str = "") -> Callable[[Function], Function]:
    """Say of a function in which of its parameters it never falls, and in which it never rises.

    In those under `away` it goes away from zero: it is proportional to them, or to a power.

    >>> @moves(up="width height")
    ... def area(width, height): return width * height
    >>> make_plan("area", {"area": area}).ways
    (1, 1)
    """

    def told(function: Function) -> Function:
        known = {**dict.fromkeys(up.split(), 1), **dict.fromkeys(down.split(), -1)}
        known |= dict.fromkeys(away.split(), _AWAY)
        assert known.keys() <= set(parameters(function)[0]), function
        function.__dict__["moves"] = known
        return function

    return told


class _Way(NamedTuple):
    """Which way a figure goes with a reading: 1, -1, 0; as a step's result goes, if named."""

    sign: int
    step: str = ""


_AWAY = 2
_EITHER = _Way(0)


def _ways(
    name: str,
    calls: Mapping[str, tuple[str, ...]],
    functions: Mapping[str, Callable[..., Any]],
    here: Mapping[str, str],
) -> dict[str, _Way]:
    """Follow which way a figure goes with each reading; either, where two ways to it disagree."""
    found: dict[str, dict[str, _Way]] = {}
    for call, arguments in calls.items():
        known: Mapping[str, int] = functions[call].__dict__.get("moves", {})
        ways: dict[str, _Way] = {}
        for argument in arguments:
            way = known.get(argument, 0)
            plain = {here.get(argument, argument): _Way(1)}
            for reading, inner in found.get(argument, plain).items():
                through = _through(call, way, inner)
                ways[reading] = through if ways.get(reading, through) == through else _EITHER
        found[call] = ways
    ways = found.get(name, {here.get(name, name): _Way(1)})
    unsure = {n for n, way in ways.items() if way == _EITHER}
    return {
        n: _EITHER if way.step and unsure & found[way.step].keys() else way
        for n, way in ways.items()
    }


def _through(call: str, way: int, inner: _Way) -> _Way:
    """Give the way through one more function."""
    if way == _AWAY:
        # a step that goes away from zero with what goes with another step is not followed
        return _EITHER if inner.step or not inner.sign else _Way(inner.sign, call)
    return _Way(way * inner.sign, inner.step) if way * inner.sign else _EITHER


def parameters(function: Callable[..., Any]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Give the names of a function's parameters, and those of them that have a default."""
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    defaults = function.__defaults__ or ()
    return names, frozenset(names[len(names) - len(defaults) :])


class Swings(NamedTuple):
    """What each input that is not exact does to a figure, by the number of the input.

    `halves` is half of what it moves the figure by itself; `extremes` what it moves at the two
    extremes, all others at their worst.
    """

    halves: tuple[tuple[int, float], ...] = ()
    extremes: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Bounds:
    """A figure as read, the least and most within all tolerances.

    `names` gives the inputs' names in the order of their numbers; `ask` works out what each input
    does to the figure. Only few figures are asked for either.
    """

    value: float
    low: float
    high: float
    names: Callable[[], Sequence[str]] | None = field(default=None, compare=False, repr=False)
    ask: Callable[[], Swings] | None = field(default=None, compare=False, repr=False)

    @property
    def halves(self) -> tuple[tuple[int, float], ...]:
        """Half of what each input moves the figure by itself."""
        return self.ask().halves if self.ask is not None else ()

    def widest(self) -> tuple[str, float] | None:
        """Give the input whose tolerance widens the bounds most, and its share of all that do.

        >>> ask = lambda: Swings(extremes=((0, 1.0), (2, 3.0)))
        >>> Bounds(1.0, 0.5, 1.5, lambda: ("a", "b", "c"), ask).widest()
        ('c', 0.75)
        """
        extremes = self.ask().extremes if self.ask is not None else ()
        total = sum(swing for _, swing in extremes)
        if self.names is None or not 0.0 < total < inf:
            return None
        index, swing = max(extremes, key=lambda pair: pair[1])
        return self.names()[index], swing / total


def bounds(
    work: Callable[[Sequence[Any]], float],
    values: Sequence[Any],
    lows: Sequence[Any],
    highs: Sequence[Any],
    ways: Sequence[int] | Callable[[Sequence[Any]], Sequence[int]] = (),
) -> Bounds:
    """Find the least and most of a figure while each value lies between its low and its high.

    Exact for a figure that, whatever the others are, rises or falls all the way with each value:
    its extremes are then at corners of the box. `ways` says which way it goes (1 or -1), or gives
    that for a corner; a value that goes either way (0; all of them, where `ways` is left out),
    depending on the others, is moved by itself to choose a corner, then flipped until none makes
    it worse.

    >>> b = bounds(lambda v: v[0] * v[1], [2.0, 3.0], [1.9, 2.5], [2.1, 3.5], (1, 1))
    >>> round(b.low, 3), b.value, round(b.high, 3)
    (4.75, 6.0, 7.35)
    """
    value = work(values)
    varying = [i for i, low in enumerate(lows) if low != highs[i]]
    if not varying:
        return Bounds(value, value, value)
    most, either = _corner(values, varying, lows, highs, ways)
    least, _ = _corner(values, varying, highs, lows, ways)
    for i in either:
        moved = list(values)
        moved[i] = lows[i]
        at_low = work(moved)
        moved[i] = highs[i]
        rises = work(moved) >= at_low
        most[i], least[i] = (highs[i], lows[i]) if rises else (lows[i], highs[i])
    high = _climb(work, most, either, lows, highs, 1.0)
    low = -_climb(work, least, either, lows, highs, -1.0)
    if low == inf and 0 < len(either) <= _MOST_TRIED:
        # where no reading by itself makes it finite, none says which way is less: try every corner
        corners = product(
            *((lows[i], highs[i]) if i in either else (at,) for i, at in enumerate(least))
        )
        low = min(work(corner) for corner in corners)

    def ask() -> Swings:
        return _swings(work, values, lows, highs, varying, least, most)

    return Bounds(value, min(low, value), max(high, value), ask=ask)


def _corner(
    values: Sequence[Any],
    varying: Sequence[int],
    falling: Sequence[Any],
    rising: Sequence[Any],
    ways: Sequence[int] | Callable[[Sequence[Any]], Sequence[int]],
) -> tuple[list[Any], list[int]]:
    """Give the corner of what rises and what falls, and what goes either way."""
    corner = list(values)
    known: Sequence[int] = ()
    for _ in range(2 if callable(ways) else 1):
        known = ways(corner) if callable(ways) else ways
        for i in varying:
            corner[i] = falling[i] if known and known[i] < 0 else rising[i]
    return corner, [i for i in varying if not known or known[i] == 0]


def _climb(
    work: Callable[[Sequence[Any]], float],
    corner: list[Any],
    either: Sequence[int],
    lows: Sequence[Any],
    highs: Sequence[Any],
    sign: float,
) -> float:
    """Flip values at a corner until none makes it worse, and leave it there: the extreme."""
    best = sign * work(corner)
    for _ in range(_MOST_ROUNDS if either else 0):
        better = False
        for i in either:
            was = corner[i]
            corner[i] = lows[i] if was == highs[i] else highs[i]
            now = sign * work(corner)
            if now > best:
                best, better = now, True
            else:
                corner[i] = was
        if not better:
            break
    return best


def _swings(
    work: Callable[[Sequence[Any]], float],
    values: Sequence[Any],
    lows: Sequence[Any],
    highs: Sequence[Any],
    varying: Sequence[int],
    least: Sequence[Any],
    most: Sequence[Any],
) -> Swings:
    """Move each value by itself, from the readings and from both extremes."""

    def at(corner: Sequence[Any], i: int, end: Any) -> float:
        moved = list(corner)
        moved[i] = end
        return work(moved)

    def apart(one: float, other: float) -> float:
        return abs(one - other) if one != other else 0.0

    halves, extremes = [], []
    for i in varying:
        halves.append((i, abs(at(values, i, highs[i]) - at(values, i, lows[i])) / 2.0))
        swing = sum(apart(at(c, i, lows[i]), at(c, i, highs[i])) for c in (least, most))
        extremes.append((i, swing))
    return Swings(tuple(halves), tuple(extremes))
