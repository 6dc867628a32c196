"""What a file refers to by id, and what to say of an id that is not there."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterator

from buildlint.files.models import Build, Car, CarEnd, Corner, End, Event
from buildlint.files.part_models import PART_KINDS, Parts
from buildlint.files.tables import Table
from buildlint.text.words import MOST_LOOKED_THROUGH, nearest, shown

__all__ = ["no_such", "references"]


def references(model: Table | None) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Return every id that a file refers to: its kind, the id, and the keys to where it stands."""
    if isinstance(model, Parts):
        for ident, oil in model.oil.items():
            for other in oil.blend or ():
                yield "oil", other, ("oil", ident, "blend", other)
    elif isinstance(model, Car):
        for end in ("front", "rear"):
            yield from _part_ids(getattr(model, end), (end,))
    elif isinstance(model, Event):
        for number, car in enumerate(model.cars or ()):
            yield "car", car, ("cars", str(number))
    elif isinstance(model, Build):
        if model.car is not None:
            yield "car", model.car, ("car",)
        if model.event is not None:
            yield "event", model.event, ("event",)
        if model.like is not None:
            yield "build", model.like, ("like",)
        for end in ("front", "rear"):
            table: End | None = getattr(model, end)
            yield from _part_ids(table, (end,))
            if table is not None:
                yield from _part_ids(table.left, (end, "left"))
                yield from _part_ids(table.right, (end, "right"))


def _part_ids(
    table: Corner | CarEnd | None, above: tuple[str, ...]
) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    if table is None:
        return
    for kind in PART_KINDS:
        ident = getattr(table, kind, None)
        if ident is not None:
            yield kind, ident, (*above, kind)


def no_such(kind: str, ident: str, known: Collection[str], with_hint: bool) -> str:
    """Say that there is no such id; with a hint: which was meant, or which there are."""
    message = f"there is no {kind} {shown(ident)}"
    if not with_hint:
        return message
    near = nearest(ident, known) if len(known) <= MOST_LOOKED_THROUGH else None
    if near is not None:
        return f"{message}; did you mean {shown(near)}?"
    if not known:
        return f"{message}, nor any other {kind}"
    some = ", ".join(shown(i) for i in heapq.nsmallest(6, known))
    return f"{message}; to choose from: {some}" + (", …" if len(known) > 6 else "")
