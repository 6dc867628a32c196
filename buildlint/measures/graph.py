"""Which readings a measure stands on, told from the names of its parameters."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import ModuleType
from typing import Any, NamedTuple

from buildlint.measures import bladder, damping, heat_and_air, record, springs
from buildlint.measures.marks import Refusal
from buildlint.measures.vocabulary import MEASURES

__all__ = [
    "AT",
    "CONDITIONS",
    "FUNCTIONS",
    "Needs",
    "function_of",
    "is_conditional",
    "needs",
    "needs_event",
    "parameters",
    "refusals_of",
    "stands_on",
]

#: The conditions, in the order of their axis.
CONDITIONS = ("bench", "cold", "hot")

#: The reading that `temperature` and `altitude` are at each condition.
AT = {
    "temperature": ("bench_temperature", "coldest", "hottest"),
    "altitude": ("bench_altitude", "event_altitude", "event_altitude"),
}


def _functions(module: ModuleType) -> dict[str, Callable[..., Any]]:
    return {
        name: thing
        for name, thing in vars(module).items()
        if getattr(thing, "__module__", None) == module.__name__
        and hasattr(thing, "__code__")
        and not name.startswith("_")
    }


#: Every function of the measures by its name.
FUNCTIONS: dict[str, Callable[..., Any]] = {
    name: function
    for module in (heat_and_air, bladder, damping, springs, record)
    for name, function in _functions(module).items()
}


class Needs(NamedTuple):
    """The readings that a measure stands on at a condition, and which of them may be missing.

    `of_event` are those that may be missing only where a build has no event.
    """

    readings: tuple[str, ...]
    optional: frozenset[str]
    of_event: frozenset[str]

    @property
    def required(self) -> tuple[str, ...]:
        """The readings that it cannot do without."""
        return tuple(n for n in self.readings if n not in self.optional | self.of_event)


def function_of(name: str) -> str:
    """Return what a measure is worked out by: the damper's measure that it compares, or itself."""
    measure = MEASURES.get(name)
    return measure.of or measure.against or name if measure is not None else name


@cache
def needs(name: str, condition: str = "bench") -> Needs:
    """Return what a measure stands on at a condition.

    >>> needs("hold_back_share").readings
    ('hold_back', 'stroke', 'limiter')
    """
    found: dict[str, tuple[bool, bool]] = {}  # reading -> may be missing, only without an event

    def need(wanted: str, at: str, optional: bool, of_event: bool) -> None:
        if wanted in AT:
            wanted = AT[wanted][CONDITIONS.index(at)]
        function = FUNCTIONS.get(wanted)
        if function is None:
            was = found.get(wanted, (True, True))
            found[wanted] = (was[0] and optional, was[1] and of_event)
            return
        if at == "bench" and "since_bench" in function.__dict__:
            return
        arguments, free = parameters(function)
        every = CONDITIONS if "at_every_condition" in function.__dict__ else (at,)
        for argument in arguments:
            for each in every:
                need(
                    argument,
                    each,
                    optional or argument in free,
                    of_event or (len(every) > 1 and each != "bench"),
                )

    need(function_of(name), condition, False, False)
    return Needs(
        tuple(found),
        frozenset(n for n, (optional, _) in found.items() if optional),
        frozenset(n for n, (_, of_event) in found.items() if of_event),
    )


@cache
def is_conditional(name: str) -> bool:
    """Return whether a measure has a value of its own at each condition."""
    return len({needs(name, condition) for condition in CONDITIONS}) > 1


@cache
def stands_on(name: str) -> frozenset[str]:
    """Return the readings that a measure stands on at any condition, and what it is about."""
    about = {MEASURES[name].about} if name in MEASURES else set()
    return frozenset(about.union(*(needs(name, c).readings for c in CONDITIONS)))


@cache
def needs_event(name: str) -> bool:
    """Return whether a measure is worked out at the event too, where there is one."""
    readings = {r for c in CONDITIONS for r in needs(name, c).readings}
    return not readings.isdisjoint({"coldest", "hottest", "event_altitude"})


@cache
def refusals_of(name: str) -> tuple[Refusal, ...]:
    """Return every case in which the readings behind a measure make no sense together."""
    found: dict[str, tuple[Refusal, ...]] = {}

    def follow(wanted: str) -> None:
        function = FUNCTIONS.get(wanted)
        if function is None or wanted in found:
            return
        found[wanted] = ()
        for argument in parameters(function)[0]:
            follow(argument)
        found[wanted] = tuple(function.__dict__.get("refusals", ()))

    follow(function_of(name))
    return tuple(refusal for each in found.values() for refusal in each)


def parameters(function: Callable[..., Any]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return the names of a function's parameters, and those of them that have a default."""
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    defaults = function.__defaults__ or ()
    return names, frozenset(names[len(names) - len(defaults) :])
