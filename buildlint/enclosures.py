"""Enclose many figures of a damper at once: ends that are surely no narrower than their bounds.

`bounds` seeks the least and the most of one figure. Here each function that figures stand on is
worked out once for all of them, from the ends of what it stands on, as if nothing moved two of its
parameters together. That is wider, but enough to see that most limits are kept, and far quicker.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType
from typing import Any, NamedTuple

from buildlint.plans import AWAY, CONDITIONS, EACH, is_still, parameters, ways_of

__all__ = ["OWN", "Enclosing", "Target", "enclosing"]

#: The home of what seldom comes twice.
OWN = "own"

# Calls of functions from which on their results are kept.
_WORTH_KEEPING = 3

# Dampers of which all that is not their own is kept, for the twin on the other side.
_TWINS = 8

#: The least, or the most, of each target.
Ends = Sequence[Any]


@dataclass(frozen=True, slots=True)
class Target:
    """A figure to enclose: a function or an input, at a condition, never below its floor."""

    name: str
    condition: str
    floor: float | None = None


#: A target, and which of its ends are asked for; the other is given as the same.
Asked = tuple[Target, bool, bool]

# Takes every input, and the least and the most of those that are not exact; gives both of every
# target.
Enclosing = Callable[[Sequence[Any], Mapping[str, tuple[Any, Any]]], tuple[Ends, Ends]]


def enclosing(
    asked: Iterable[Asked],
    inputs: Sequence[str],
    functions: Mapping[str, Callable[..., Any]],
    exact: frozenset[str],
    homes: Mapping[str, str] = MappingProxyType({}),
    most_kept: int = 2_000,
) -> Enclosing:
    """Make the function that encloses targets; inputs stand in the order of `inputs`.

    `exact` are inputs whose least and most are the same. `homes` says which inputs come together:
    what stands on some homes is kept for when these come again, unless one is OWN. The function
    raises ValueError where readings make no sense together.

    >>> from buildlint.plans import moves
    >>> @moves(up="width height")
    ... def area(width, height): return width * height
    >>> asked = [(Target("area", "bench"), True, True)]
    >>> made = enclosing(asked, ["width", "height"], {"area": area}, frozenset(["height"]))
    >>> made([2.2, 3.0], {"width": (2.0, 2.5)})
    ((6.0,), (7.5,))
    """
    writer = _Writer(inputs, functions, exact, homes)
    ends = [writer.ends(*each) for each in asked]
    return writer.made(ends, most_kept)


@dataclass(frozen=True, slots=True)
class _Node:
    """The variables that hold the least and the most of something: one for both if it is exact.

    `homes` are where the inputs behind it come from.
    """

    low: str
    high: str
    homes: frozenset[str]


class _Line(NamedTuple):
    """A variable, how it is worked out, and the variables that this takes."""

    end: str
    works: str
    takes: frozenset[str]
    calls: int


class _Writer:
    """Writes the lines that work everything out, each thing once."""

    def __init__(
        self,
        inputs: Sequence[str],
        functions: Mapping[str, Callable[..., Any]],
        exact: frozenset[str],
        homes: Mapping[str, str],
    ) -> None:
        self.inputs = list(inputs)
        self.functions = functions
        self.exact = exact
        self.homes = homes
        self.nodes: dict[tuple[str, str], _Node] = {}
        self.lines: dict[str, _Line] = {}
        self.homes_of: dict[str, frozenset[str]] = {}
        self.wanted: set[str] = set()
        self.scope: dict[str, Any] = {"least": _least, "most": _most}

    def ends(self, target: Target, low: bool, high: bool) -> tuple[str, str]:
        """Give the expressions for the ends of a target."""
        node = self.node(target.name, target.condition)
        found = (node.low if low else node.high, node.high if high else node.low)
        for end in found:
            self.want(end)
        if target.floor is None:
            return found
        floor = repr(target.floor)
        low_end, high_end = (f"({end} if {end} > {floor} else {floor})" for end in found)
        return low_end, high_end

    def want(self, variable: str) -> None:
        """Mark what a variable is worked out from as wanted, and itself."""
        if variable not in self.wanted:
            self.wanted.add(variable)
            if variable in self.lines:
                for under in self.lines[variable].takes:
                    self.want(under)

    def node(self, name: str, condition: str) -> _Node:
        """Write what a name stands on, then itself, unless that is done."""
        if name not in self.functions:
            return self.input(CONDITIONS[condition].get(name, name))
        function = self.functions[name]
        still = is_still(function, condition)
        names, _ = ((), ()) if still else parameters(function)
        under = [self.node(n, condition) for n in names]
        # at another condition it may be the same
        key = (name, "still" if still else ",".join(n.low for n in under))
        if key not in self.nodes:
            self.nodes[key] = self.written(f"{name}_{len(self.nodes)}", function, names, under)
        return self.nodes[key]

    def input(self, name: str) -> _Node:
        number = self.inputs.index(name)
        homes = frozenset([self.homes.get(name, "")])
        return _Node(f"l{number}", f"{'l' if name in self.exact else 'h'}{number}", homes)

    def written(
        self,
        name: str,
        function: Callable[..., Any],
        parameters: Sequence[str],
        under: Sequence[_Node],
    ) -> _Node:
        if not parameters:
            self.scope[name] = 0.0
            return _Node(name, name, frozenset())
        homes = frozenset().union(*(node.homes for node in under))
        self.scope[f"f_{name}"] = function
        known = ways_of(function)
        loose = [n for n, node in zip(parameters, under, strict=True) if node.low != node.high]
        away = [n for n in loose if known.get(n) in (AWAY, EACH)]
        either = [n for n in loose if n not in known]

        def corners(sign: int) -> list[tuple[str, ...]]:
            found: dict[tuple[str, ...], None] = {}
            for way in (-1, 1) if away else (0,):
                for ways in product((-1, 1), repeat=len(either)):
                    at = {n: sign * known[n] for n in loose if known.get(n) in (1, -1)}
                    at |= dict.fromkeys(away, way)
                    at |= dict(zip(either, ways, strict=True))
                    corner = (
                        node.high if at.get(n, 0) > 0 else node.low
                        for n, node in zip(parameters, under, strict=True)
                    )
                    found[tuple(corner)] = None
            return list(found)

        node = _Node(f"l_{name}", f"h_{name}" if loose else f"l_{name}", homes)
        for sign, end in ((-1, node.low), (1, node.high))[: 2 if loose else 1]:
            found = corners(sign)
            calls = [f"f_{name}({', '.join(corner)})" for corner in found]
            if len(calls) > 1:
                chosen = ("least", "most") if _in_places(function) else ("min", "max")
                calls = [f"{chosen[sign > 0]}({', '.join(calls)})"]
            takes = frozenset(variable for corner in found for variable in corner)
            self.lines[end] = _Line(end, calls[0], takes, len(found))
            self.homes_of[end] = homes
        return node

    def made(self, ends: Sequence[tuple[str, str]], most_kept: int) -> Enclosing:
        """Compile what was written: what is shared as one function, the rest as another."""
        own = [n for n, name in enumerate(self.inputs) if self.homes.get(name) == OWN]
        shared = [n for n in range(len(self.inputs)) if n not in own]
        lows, highs = ([f"{e}{n}" for n in shared if f"{e}{n}" in self.wanted] for e in "lh")
        wanted = [n for n in range(len(self.inputs)) if {f"l{n}", f"h{n}"} & self.wanted]
        loose = [n for n in wanted if self.inputs[n] not in self.exact]
        own = [n for n in wanted if n in own]
        groups: dict[frozenset[str], list[_Line]] = {}
        for end, line in self.lines.items():
            if end in self.wanted:
                groups.setdefault(self.homes_of[end], []).append(line)
        # what stands on fewer homes comes first: nothing in it stands on the others
        order = sorted((homes for homes in groups if OWN not in homes), key=len)
        first = [line for n, homes in enumerate(order) for line in self.kept(n, groups[homes])]
        then = [
            line
            for end, line in self.lines.items()
            if end in self.wanted and OWN in self.homes_of[end]
        ]
        kept = [line.end for homes in order for line in groups[homes]]
        self.scope |= {"whole_kept": {}, "most_kept": most_kept}
        lines = [
            "def first(lows, highs):",
            f"    {_tuple(lows)} = lows",
            f"    {_tuple(highs)} = highs",
            *(f"    {line}" for line in first),
            f"    return {_tuple(kept)}",
            "def whole(values, spread):",
            *(f"    l{n}, h{n} = spread[{self.inputs[n]!r}]" for n in loose),
            f"    lows = {_tuple(v if int(v[1:]) in loose else f'values[{v[1:]}]' for v in lows)}",
            f"    highs = {_tuple(highs)}",
            "    known = whole_kept.get((lows, highs))",
            "    if known is None:",
            f"        if len(whole_kept) >= {_TWINS}: whole_kept.clear()",
            "        known = whole_kept[lows, highs] = first(lows, highs)",
            f"    {_tuple(lows)} = lows",
            f"    {_tuple(kept)} = known",
            *(f"    l{n} = values[{n}]" for n in own if n not in loose),
            *(f"    {line.end} = {line.works}" for line in then),
            f"    return {_tuple(e[0] for e in ends)}, {_tuple(e[1] for e in ends)}",
        ]
        exec("\n".join(lines), self.scope)  # of names of our own making alone
        found: Enclosing = self.scope["whole"]
        return found

    def kept(self, number: int, group: Sequence[_Line]) -> Iterator[str]:
        """Give the lines of a group; what takes time is kept for when the same comes again."""
        if sum(line.calls for line in group) < _WORTH_KEEPING:
            yield from (f"{line.end} = {line.works}" for line in group)
            return
        ends = [line.end for line in group]
        takes = sorted(set().union(*(line.takes for line in group)) - {*ends, *self.scope})
        self.scope[f"kept_{number}"] = {}
        lines = [
            f"def group_{number}({', '.join(takes)}):",
            *(f"    {line.end} = {line.works}" for line in group),
            f"    return {_tuple(ends)}",
        ]
        exec("\n".join(lines), self.scope)  # of names of our own making alone
        yield f"key = {_tuple(takes)}"
        yield f"known = kept_{number}.get(key)"
        yield "if known is None:"
        yield f"    if len(kept_{number}) >= most_kept: kept_{number}.clear()"
        yield f"    known = kept_{number}[key] = group_{number}(*key)"
        yield f"{_tuple(ends)} = known"


def _in_places(function: Callable[..., Any]) -> bool:
    """Say whether a function gives a tuple, whose places have ends of their own."""
    return EACH in ways_of(function).values()


def _tuple(expressions: Iterable[str]) -> str:
    return f"({''.join(f'{e}, ' for e in expressions)})"


def _least(*values: Any) -> Any:
    """Give the least; of tuples, in each place."""
    return min(values) if isinstance(values[0], float) else tuple(map(_least, *values))


def _most(*values: Any) -> Any:
    return max(values) if isinstance(values[0], float) else tuple(map(_most, *values))
