"""What a report speaks of: a corner, an end for both its sides, the car for all four."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

from buildlint.measures.damper import CORNERS

__all__ = ["SUBJECTS", "both_by_subject", "by_subject", "corners_of"]

#: Every subject, in the order in which reports tell of them.
SUBJECTS = ("car", *(s for e in ("front", "rear") for s in (e, f"{e}.left", f"{e}.right")))

_T = TypeVar("_T")


def corners_of(subject: str) -> tuple[str, ...]:
    """Return the corners that a subject stands for.

    >>> corners_of("front"), corners_of("rear.left")
    (('front.left', 'front.right'), ('rear.left',))
    """
    every = tuple(f"{end}.{side}" for end, side in CORNERS)
    within = subject.split(".")
    return (
        every
        if subject == "car"
        else tuple(c for c in every if c.split(".")[: len(within)] == within)
    )


def by_subject(by_corner: Mapping[str, _T]) -> Iterator[tuple[str, _T]]:
    """Return what is the same on both sides once for its end, what is the same on all once.

    >>> list(by_subject({"front.left": 1, "front.right": 1, "rear.left": 1, "rear.right": 2}))
    [('front', 1), ('rear.left', 1), ('rear.right', 2)]
    """
    values = list(by_corner.values())
    if len(values) == len(CORNERS) and all(value == values[0] for value in values):
        yield "car", values[0]
        return
    for end in ("front", "rear"):
        here = {c: value for c, value in by_corner.items() if c.startswith(f"{end}.")}
        both = list(here.values())
        if len(both) == 2 and both[0] == both[1]:
            yield end, both[0]
        else:
            yield from here.items()


def both_by_subject(
    old: Mapping[str, _T], new: Mapping[str, _T]
) -> Iterator[tuple[str, tuple[_T | None, _T | None]]]:
    """Return what both builds say of each subject, of corners `by_subject`.

    >>> list(both_by_subject({"car": 1, "front.left": 2}, {"front.left": 3, "front.right": 3}))
    [('car', (1, None)), ('front.left', (2, 3)), ('front.right', (None, 3))]
    """
    pairs = {subject: (old.get(subject), new.get(subject)) for subject in {**old, **new}}
    yield from ((subject, pair) for subject, pair in pairs.items() if "." not in subject)
    yield from by_subject({subject: p for subject, p in pairs.items() if "." in subject})
