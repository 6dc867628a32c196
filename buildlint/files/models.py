"""The four kinds of file as models: which keys each table takes (of parts files: `part_models`).

A model is complete: what is required is there. Where a file has mistakes, the reader keeps what
could be read in the model's partial twin (`tables.partial_of`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar, Literal

from pydantic import ConfigDict, Field

from buildlint.files.fields import Date, Flag, Name, Note, Quantity
from buildlint.files.part_models import Parts
from buildlint.files.readings import Mistake
from buildlint.files.steps import Step
from buildlint.files.tables import Complaint, Table, says
from buildlint.text.words import shown

__all__ = ["KINDS", "Bench", "Build", "Car", "CarEnd", "Corner", "End", "Event"]

# Kelvins by which one temperature in two units may come out apart.
_HAIR = 1e-9


class CarEnd(Table):
    """What is fitted at one end of a car, alike on both sides."""

    model_config = ConfigDict(title="End of a car")

    body: Name = Field(description="Id of the body.")
    shaft: Name = Field(description="Id of the shaft.")
    bladder: Name | None = Field(default=None, description="Id of the bladder.")
    corner_mass: Quantity.mass | None = Field(default=None, description="Sprung mass on one wheel.")
    motion_ratio: Quantity.motion_ratio | None = Field(
        default=None, description="Damper travel over wheel travel."
    )
    seat_gap: Quantity.gap | None = Field(
        default=None, description="Spring seat to seat, damper fully out, collar at its datum."
    )


class Car(Table):
    """A car: what is fitted at each end."""

    model_config = ConfigDict(title="NAME.car.toml")

    name: Name = Field(description="What the team calls the car.")
    car_class: Name | None = Field(
        default=None, alias="class", description="The class that it races in."
    )
    front: CarEnd = Field(description="What is fitted at the front.")
    rear: CarEnd = Field(description="What is fitted at the rear.")
    note: Note | None = Field(default=None, description="Anything worth keeping about the car.")


class Event(Table):
    """Where and when: how high, how cold and hot the oil gets, how the cars get there."""

    model_config = ConfigDict(title="NAME.event.toml")

    name: Name = Field(description="What the event is called.")
    on: Date = Field(description="Date of the event, without quotes.")
    altitude: Quantity.altitude = Field(description="Altitude of the track above the sea.")
    coldest: Quantity.temperature = Field(description="The oil at its coldest.")
    hottest: Quantity.temperature = Field(
        description="The oil at its hottest, no colder than the coldest. A damper also warms by "
        "its own work, by as much as a day's weather does: measure the body right after a run."
    )
    arrive_by: Literal["road", "air"] = Field(
        default="road", description="Whether the cars go there by road or by air."
    )
    highest: Quantity.altitude | None = Field(
        default=None, description="Highest altitude on the road there, no lower than the event."
    )
    cars: list[Name] | None = Field(default=None, description="Ids of the cars that go there.")
    note: Note | None = Field(default=None, description="Anything worth keeping about the event.")

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
    """One damper: what was read on it, where it is not what both sides share."""

    model_config = ConfigDict(title="One damper")

    piston: Name | None = Field(default=None, description="Id of the piston in it.")
    oil: Name | None = Field(default=None, description="Id of the oil in it.")
    hold_back: Quantity.hold_back | None = Field(
        default=None, description="How much of the shaft still shows when the cap is sealed."
    )
    spring: Name | None = Field(default=None, description="Id of the spring on it.")
    limiter: Quantity.small_length | None = Field(
        default=None, description="What the limiter takes off the stroke; left out, none is fitted."
    )
    collar: Quantity.small_length | None = Field(
        default=None, description="How far the preload collar stands from its datum."
    )
    length: Quantity.length | None = Field(
        default=None, description="Eye to eye, with the shaft fully out."
    )
    rebound: Quantity.rebound | None = Field(
        default=None,
        description="Share of the stroke that the shaft comes back by itself, with no spring on.",
    )
    air: Quantity.air | None = Field(
        default=None,
        description="Air left in the oil (left out: none); in an emulsion, the air left in.",
    )
    label: Name | None = Field(default=None, description="What is written on the cap.")
    body: Name | None = Field(
        default=None, description="Id of the body, where it is not the car's."
    )
    shaft: Name | None = Field(
        default=None, description="Id of the shaft, where it is not the car's."
    )
    bladder: Name | None = Field(
        default=None, description="Id of the bladder, where it is not the car's."
    )
    done: list[Step] | None = Field(default=None, description="The bench steps that are done.")
    runtime: Quantity.runtime | None = Field(
        default=None, description="How long it has run since the last oil change."
    )
    note: Note | None = Field(default=None, description="Anything worth keeping about this damper.")


class End(Corner):
    """Both dampers of one end: what they share, and what was read on each."""

    model_config = ConfigDict(title="End of a build")

    left: Corner | None = Field(
        default=None, description="What was read on the left one; it wins over what both share."
    )
    right: Corner | None = Field(
        default=None, description="What was read on the right one; it wins over what both share."
    )


class Bench(Table):
    """Where and when the dampers were built."""

    model_config = ConfigDict(title="Bench")

    on: Date | None = Field(
        default=None,
        description="Date of the build, without quotes; left out, the build is a plan.",
    )
    temperature: Quantity.temperature = Field(
        description="Temperature of the oil when the caps were sealed."
    )
    altitude: Quantity.altitude = Field(description="Altitude of the bench above the sea.")
    by: Name | None = Field(default=None, description="Who built them, or at which bench.")


def _of_both(key: str) -> dict[str, Any]:
    """Say in JSON Schema that an end says a key: for both sides, or on each."""
    sides = {side: {"required": [key]} for side in ("left", "right")}
    return {"anyOf": [{"required": [key]}, {"properties": sides, "required": [*sides]}]}


def _at_each_end(*keys: str) -> dict[str, Any]:
    demand = {"allOf": [_of_both(key) for key in keys]}
    return {"properties": {"front": demand, "rear": demand}}


class Build(Table):
    """One set of four dampers, planned or finished: for which car and event, what is in each."""

    model_config = ConfigDict(title="NAME.build.toml")
    together: ClassVar[dict[str, Any]] = {
        "allOf": [_at_each_end("piston", "oil")],
        "if": says("style", const="emulsion"),
        "then": _at_each_end("air"),
        "else": _at_each_end("hold_back"),
    }

    car: Name = Field(description="Id of the car: the part of its file's name before .car.toml.")
    event: Name | None = Field(
        default=None, description="Id of the event: the part of its file's name before .event.toml."
    )
    like: Name | None = Field(
        default=None,
        description="Id of the build that this one should feel like, or be a twin of.",
    )
    past: Flag = Field(
        default=False,
        description="True: no longer judged. Without it a build is past once its car has one with "
        "a later bench date, for a later event.",
    )
    style: Literal["bladder", "emulsion"] = Field(
        default="bladder", description="With a bladder, or an emulsion of oil and air without one."
    )
    bench: Bench = Field(description="The bench, and the day.")
    front: End = Field(description="Both dampers at the front.")
    rear: End = Field(description="Both dampers at the rear.")
    note: Note | None = Field(default=None, description="Anything worth keeping about the build.")

    def damper(self, corner: str) -> Corner:
        """Return what this file says of one damper: what its side says, else its end.

        `corner` is "front.left" and the like; raises KeyError for any other. What a build leaves to
        the car, its body, shaft and bladder, is not in it.
        """
        end, _, side = corner.partition(".")
        if end not in ("front", "rear") or side not in ("left", "right"):
            raise KeyError(corner)
        both: End = getattr(self, end)
        own: Corner | None = getattr(both, side)
        said = {name: getattr(both, name) for name in both.given - {"left", "right"}}
        if own is not None:
            said |= {name: getattr(own, name) for name in own.given}
        return Corner.model_validate(said)

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
