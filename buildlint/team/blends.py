"""Oils that are blended of themselves, by whatever way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from buildlint.files.fault import Fault
from buildlint.text.words import shown

__all__ = ["blend_of_itself", "rings"]


def blend_of_itself(way: Sequence[str]) -> Fault:
    """Return the mistake that an oil is blended of itself, by the way of these ids."""
    some = [*map(shown, way)] if len(way) < 9 else [*map(shown, way[:7]), "…"]
    message = f"an oil cannot be blended from itself: {some[0]} has {', which has '.join(some[1:])}"
    return Fault("file/blend-of-itself", message, ("oil", way[0], "blend", way[1]))


def rings(blends: Mapping[str, Sequence[str]]) -> Iterator[list[str]]:
    """Return the rings among blends, each once: the ids from an oil back to itself, a shortest way.

    `blends` has every id, with the ids that it is blended of. Oils of one ring are not given
    another.

    >>> list(rings({"a": ["b"], "b": ["a", "c"], "c": []}))
    [['a', 'b', 'a']]
    """
    suspects = _between_rings(blends)
    told: set[str] = set()
    for ident in sorted(suspects):
        way = _way_back(ident, blends, suspects) if ident not in told else None
        if way is not None:
            told.update(way)
            yield way


def _way_back(
    start: str, blends: Mapping[str, Sequence[str]], suspects: set[str]
) -> list[str] | None:
    """Return the way from an oil through its blends back to itself, one of the shortest."""
    came: dict[str, str] = {}
    ways = [start]
    for here in ways:
        for other in blends[here]:
            if other == start:
                way = [here, start]
                while way[0] != start:
                    way.insert(0, came[way[0]])
                return way
            if other in suspects and other not in came:
                came[other] = here
                ways.append(other)
    return None


def _between_rings(blends: Mapping[str, Sequence[str]]) -> set[str]:
    """Return the oils that may be blended of themselves: the rest is peeled off from both ends."""
    used_in: dict[str, list[str]] = {ident: [] for ident in blends}
    for ident, others in blends.items():
        for other in others:
            used_in[other].append(ident)
    left = set(blends)
    for ahead, behind in ((blends, used_in), (used_in, blends)):
        count = {ident: sum(other in left for other in ahead[ident]) for ident in left}
        ready = [ident for ident in left if count[ident] == 0]
        while ready:
            ident = ready.pop()
            left.discard(ident)
            for other in behind[ident]:
                if other in left:
                    count[other] -= 1
                    if count[other] == 0:
                        ready.append(other)
    return left
