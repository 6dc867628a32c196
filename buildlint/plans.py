"""Work out a measure: follow the names of its parameters back to readings, at any values of them.

A measure is a function of plain floats whose parameters are named after readings of a damper, or
after other measures. A plan is that function with everything it stands on, in order. Judging,
tolerances, cures and comparing all run the same plan again with other values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeVar

__all__ = [
    "AWAY",
    "CONDITIONS",
    "EACH",
    "Plan",
    "is_still",
    "make_plan",
    "moves",
    "parameters",
    "since_bench",
    "ways_of",
]

Function = TypeVar("Function", bound=Callable[..., Any])

#: What `temperature` and `altitude` stand for at each condition.
CONDITIONS: dict[str, dict[str, str]] = {
    "bench": {"temperature": "bench_temperature", "altitude": "bench_altitude"},
    "cold": {"temperature": "coldest", "altitude": "event_altitude"},
    "hot": {"temperature": "hottest", "altitude": "event_altitude"},
}

# Bounds asked for before a plan is made into one function: more than one build has.
_OFTEN = 40


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

    def need(wanted: str, optional: bool) -> None:
        nonlocal conditional
        if wanted in functions:
            if is_still(functions[wanted], condition):
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
            functions[call] if arguments or not is_still(functions[call], condition) else _nothing,
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


def is_still(function: Callable[..., Any], condition: str) -> bool:
    """Say whether a function gives what has changed since the bench, where nothing has."""
    return condition == "bench" and "since_bench" in function.__dict__


def _nothing() -> float:
    return 0.0


def moves(
    up: str = "", down: str = "", away: str = "", each: str = ""
) -> Callable[[Function], Function]:
    """Say of a function in which of its parameters it never falls, and in which it never rises.

    In those under `away` it goes away from zero: it is proportional to them, or to a power; in
    those under `each` that is so for each place of a result that is a tuple.

    >>> @moves(up="width height")
    ... def area(width, height): return width * height
    >>> make_plan("area", {"area": area}).ways
    (1, 1)
    """

    def told(function: Function) -> Function:
        known = {**dict.fromkeys(up.split(), 1), **dict.fromkeys(down.split(), -1)}
        known |= dict.fromkeys(away.split(), AWAY) | dict.fromkeys(each.split(), EACH)
        assert known.keys() <= set(parameters(function)[0]), function
        function.__dict__["moves"] = known
        return function

    return told


def ways_of(function: Callable[..., Any]) -> Mapping[str, int]:
    """Give what `moves` says of a function's parameters: 1, -1, AWAY or EACH for those it names."""
    known: Mapping[str, int] = function.__dict__.get("moves", {})
    return known


class _Way(NamedTuple):
    """Which way a figure goes with a reading: 1, -1, 0; as a step's result goes, if named."""

    sign: int
    step: str = ""


#: The way of a parameter with which a result goes away from zero.
AWAY = 2
#: The same, for each place of a tuple.
EACH = 3
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
        known = ways_of(functions[call])
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
    if way == EACH:
        return _EITHER  # some places may rise while others fall
    if way == AWAY:
        # a step that goes away from zero with what goes with another step is not followed
        return _EITHER if inner.step or not inner.sign else _Way(inner.sign, call)
    return _Way(way * inner.sign, inner.step) if way * inner.sign else _EITHER


def parameters(function: Callable[..., Any]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Give the names of a function's parameters, and those of them that have a default."""
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    defaults = function.__defaults__ or ()
    return names, frozenset(names[len(names) - len(defaults) :])
