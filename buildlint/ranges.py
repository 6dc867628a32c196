"""Ranges of a figure in which something holds: looked for, crossed, rounded inwards."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from buildlint.amounts import in_unit

__all__ = ["Range", "both", "safe", "where"]

# A range is looked for at so many places, then its edges are closed in on.
_PLACES = 32
_HALVINGS = 30

# Figures are offered to a tenth of their unit, on the safe side; where that leaves none, finer.
_STEPS = (0.1, 0.01)

Range = tuple[float, float]


def where(holds: Callable[[float], bool], span: Range, now: float) -> list[Range]:
    """Give the ranges of a span in which something holds: places tried, edges closed in on."""
    low, high = span
    places = sorted(
        {low + (high - low) * i / _PLACES for i in range(_PLACES + 1)}
        | ({now} if low <= now <= high else set())
    )
    sound = [holds(place) for place in places]
    ranges: list[Range] = []
    start: float | None = places[0] if sound[0] else None
    for i in range(1, len(places)):
        if sound[i] and start is None:
            start = _edge(holds, places[i - 1], places[i])
        elif not sound[i] and start is not None:
            ranges.append((start, _edge(holds, places[i], places[i - 1])))
            start = None
    if start is not None:
        ranges.append((start, places[-1]))
    return ranges


def _edge(holds: Callable[[float], bool], outside: float, inside: float) -> float:
    for _ in range(_HALVINGS):
        middle = (outside + inside) / 2.0
        if holds(middle):
            inside = middle
        else:
            outside = middle
    return inside


def both(some: list[Range], others: list[Range]) -> list[Range]:
    """Give where ranges of both kinds lie over each other."""
    crossed = ((max(a[0], b[0]), min(a[1], b[1])) for a in some for b in others)
    return [r for r in crossed if r[0] <= r[1]]


def safe(one: Range, unit: str) -> Range | None:
    """Round a range inwards to figures that can be set and read."""
    size = 1.0 / in_unit(1.0, unit)
    for step in _STEPS:
        low = ceil(round(one[0] / size / step, 6)) * step * size
        high = floor(round(one[1] / size / step, 6)) * step * size
        if low <= high:
            return low, high
    return None
