"""The least and the most of a figure while every reading behind it stays within its tolerance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import inf
from typing import Any, NamedTuple

__all__ = ["Bounds", "Swings", "bounds"]

# Flips from corner to corner of the tolerances, before the worst is taken as found.
_MOST_ROUNDS = 4

# Readings of a figure without end whose corners are all tried.
_MOST_TRIED = 10


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
