"""The four kinds of file as models: which keys each table takes (of drawers: `part_models`).

Every field may be missing from a model, so that one mistake in a file does not hide what the rest
of it says; what is required is listed in `required`, and the reader reports what is missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from buildlint.files.fields import Date, Name, Note, Quantity
from buildlint.files.part_models import Parts
from buildlint.files.tables import Complaint, Table, keyed
from buildlint.readings import Mistake
from buildlint.steps import Step
from buildlint.words import shown

__all__ = ["KINDS", "Bench", "Build", "Car", "CarEnd", "Corner", "End", "Event"]

# Kelvins by which one temperature in two units may come out apart.
_HAIR = 1e-9


class CarEnd(Table):
    """One end of a car."""

    required = ("body", "shaft")

    body: Name | None = None
    shaft: Name | None = None
    bladder: Name | None = None
    corner_mass: Quantity.mass | None = None
    motion_ratio: Quantity.motion_ratio | None = None
    seat_gap: Quantity.gap | None = None


class Car(Table):
    """NAME.car.toml."""

    required = ("name", "front", "rear")

    name: Name | None = None
    car_class: Name | None = keyed("class")
    front: CarEnd | None = None
    rear: CarEnd | None = None
    note: Note | None = None


class Event(Table):
    """NAME.event.toml."""

    required = ("name", "on", "altitude", "coldest", "hottest")

    name: Name | None = None
    on: Date | None = None
    altitude: Quantity.altitude | None = None
    coldest: Quantity.temperature | None = None
    hottest: Quantity.temperature | None = None
    arrive_by: Literal["road", "air"] = "road"
    highest: Quantity.altitude | None = None
    note: Note | None = None

    def complaints(self) -> Iterator[Complaint]:
        """The coldest oil is no hotter than the hottest; the road there ends at the event."""
        if self.coldest and self.hottest and self.coldest.value - self.hottest.value > _HAIR:
            yield (
                ("coldest",),
                Mistake(
                    "file/out-of-range",
                    f"the coldest oil, {shown(self.coldest.text)}, is hotter than the hottest, "
                    f"{shown(self.hottest.text)}",
                    with_keys=("hottest",),
                ),
            )
        if self.highest is None:
            return
        if self.arrive_by == "air":
            message = 'highest is not read with arrive_by = "air": it is of the road there'
            yield ("highest",), Mistake("file/unread-key", message)
        elif self.altitude and self.highest.high < self.altitude.low:
            message = (
                f"the highest altitude on the road there, {shown(self.highest.text)}, is below "
                f"the event itself, {shown(self.altitude.text)}"
            )
            yield ("highest",), Mistake("file/out-of-range", message, with_keys=("altitude",))


class Corner(Table):
    """One damper: what was read on it."""

    piston: Name | None = None
    oil: Name | None = None
    hold_back: Quantity.hold_back | None = None
    spring: Name | None = None
    limiter: Quantity.small_length | None = None
    collar: Quantity.small_length | None = None
    length: Quantity.length | None = None
    rebound: Quantity.rebound | None = None
    air: Quantity.air | None = None
    label: Name | None = None
    body: Name | None = None
    shaft: Name | None = None
    bladder: Name | None = None
    done: list[Step] | None = None
    runtime: Quantity.runtime | None = None
    note: Note | None = None


class End(Corner):
    """Both dampers of one end: what they share, and what was read on each."""

    left: Corner | None = None
    right: Corner | None = None


class Bench(Table):
    """Where and when the dampers were built."""

    required = ("on", "temperature", "altitude")

    on: Date | None = None
    temperature: Quantity.temperature | None = None
    altitude: Quantity.altitude | None = None
    by: Name | None = None


class Build(Table):
    """NAME.build.toml: one set of four finished dampers."""

    required = ("car", "bench", "front", "rear")

    car: Name | None = None
    event: Name | None = None
    style: Literal["bladder", "emulsion"] = "bladder"
    bench: Bench | None = None
    front: End | None = None
    rear: End | None = None
    note: Note | None = None

    def complaints(self) -> Iterator[Complaint]:
        """Each damper needs a piston, an oil, and a hold-back or poured-in air with no bladder."""
        needs = ("piston", "oil", "hold_back" if self.style == "bladder" else "air")
        for name, end in (("front", self.front), ("rear", self.rear)):
            if end is None:
                continue
            for key in needs:
                yield from _missing_in_end(name, end, key)
            if self.style == "emulsion":
                yield from _bladders_in_end(name, end)


def _bladders_in_end(name: str, end: End) -> Iterator[Complaint]:
    tables = (((name,), end), ((name, "left"), end.left), ((name, "right"), end.right))
    for path, table in tables:
        if table is not None and table.bladder is not None:
            message = 'bladder is not read with style = "emulsion": such a damper has none'
            yield (*path, "bladder"), Mistake("file/unread-key", message)


def _missing_in_end(name: str, end: End, key: str) -> Iterator[Complaint]:
    def has(table: Corner | None) -> bool:
        return table is not None and (getattr(table, key) is not None)

    if has(end):
        return
    without = [side for side in ("left", "right") if not has(getattr(end, side))]
    if len(without) == 2:
        yield (name, key), Mistake("file/missing-key", f"{key} is missing for the {name}")
    elif without:
        side = without[0]
        path = (name, side, key) if getattr(end, side) is not None else (name, key)
        yield path, Mistake("file/missing-key", f"{key} is missing for the {name} {side}")


#: The kinds of file by the end of their name.
KINDS: dict[str, type[Table]] = {"parts": Parts, "car": Car, "event": Event, "build": Build}
