"""The four kinds of file as models: which keys each table takes.

Every field may be missing from a model, so that one mistake in a file does not hide what the rest
of it says; what is required is listed in `required`, and the reader reports what is missing.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Annotated, Literal

from buildlint.files.fields import LEAST_SUS, MOST_SUS, PistonHoles, Quantity, as_pydantic
from buildlint.files.tables import Complaint, PlainDate, Table, Text, keyed
from buildlint.physics.displacement import circle_area
from buildlint.readings import Mistake, Reading, read
from buildlint.steps import Step
from buildlint.unit_sizes import SIZES
from buildlint.words import shown

__all__ = [
    "KINDS",
    "PART_KINDS",
    "Bench",
    "Bladder",
    "Body",
    "Build",
    "Car",
    "CarEnd",
    "Corner",
    "Cup",
    "End",
    "Event",
    "Oil",
    "Parts",
    "Piston",
    "Second",
    "Shaft",
    "Spring",
    "Table",
]

# Kelvins by which one temperature in two units may come out apart.
_HAIR = 1e-9

#: The most oils in one blend.
MOST_IN_A_BLEND = 8

#: Where no temperature is stated with a viscosity.
STATED_AT = read("25 degC", "temperature")

#: Saybolt Universal seconds are defined at these temperatures (ASTM D2161).
SAYBOLT_TEMPERATURES = tuple(read(text, "temperature") for text in ("100 degF", "210 degF"))


def _no_date() -> Exception:
    return as_pydantic(
        Mistake("file/wrong-kind", "a date without quotes belongs here, such as 2027-03-14")
    )


Date = Annotated[datetime.date, PlainDate(_no_date)]
Name = Annotated[str, Text(1, 200)]
Note = Annotated[str, Text(0, 10_000)]


class Part(Table):
    """What every part has."""

    note: Note | None = None


# The cap holds oil too: so much more than the tube is still believed (ours, not published).
_BEYOND_THE_TUBE = 1.5


class Body(Part):
    """A damper's body with its cap."""

    required = ("bore", "stroke", "length")

    bore: Quantity.bore | None = None
    stroke: Quantity.stroke | None = None
    length: Quantity.body_length | None = None
    oil: Quantity.volume | None = None
    cap: Literal["vented", "sealed"] = "vented"
    gas: Quantity.volume | None = None
    piston: Quantity.piston | None = None

    def complaints(self) -> Iterator[Complaint]:
        """A sealed cap needs its gas; oil and stroke fit into the body."""
        if self.cap == "sealed" and self.gas is None and "gas" not in self.given:
            yield (
                ("gas",),
                Mistake(
                    "file/missing-key",
                    "gas is missing: with a sealed cap, the volume of gas over the bladder, "
                    'such as "600 mm^3"',
                ),
            )
        if self.stroke and self.length and self.stroke.value > self.length.value:
            message = (
                f"the stroke, {shown(self.stroke.text)}, is more than the length of the body, "
                f"{shown(self.length.text)}"
            )
            yield ("stroke",), Mistake("file/out-of-range", message)
        if self.oil and self.bore and self.length:
            tube = circle_area(self.bore.high) * self.length.high
            if self.oil.low > tube * _BEYOND_THE_TUBE:
                message = (
                    f"{shown(self.oil.text)} of oil is far more than bore and length hold, "
                    f"{tube * 1e6:.1f} ml"
                )
                yield ("oil",), Mistake("file/out-of-range", message)


class Shaft(Part):
    """A shaft."""

    required = ("diameter",)

    diameter: Quantity.shaft | None = None
    coating: Name | None = None


class Piston(Part):
    """A piston with its holes."""

    required = ("diameter", "thickness", "holes")

    diameter: Quantity.piston | None = None
    thickness: Quantity.thickness | None = None
    holes: PistonHoles | None = None
    taper_to: Quantity.hole | None = None

    def complaints(self) -> Iterator[Complaint]:
        """The holes leave something of the piston."""
        if self.holes is None or self.diameter is None:
            return
        open_area = sum(count * circle_area(size.low) for count, size in self.holes.groups)
        if open_area >= circle_area(self.diameter.high):
            message = (
                f"{shown(self.holes.text)} are holes of more area than the piston has, "
                f"{shown(self.diameter.text)} across"
            )
            yield ("holes",), Mistake("file/out-of-range", message)


class Cup(Table):
    """A bladder's cup, for an estimate of its room."""

    required = ("radius", "depth")

    radius: Quantity.cup | None = None
    depth: Quantity.cup | None = None


class Bladder(Part):
    """A bladder: the volumes that it can give each way."""

    into_body: Quantity.room | None = None
    into_cap: Quantity.room | None = None
    cup: Cup | None = None


class Second(Table):
    """A second point of an oil's viscosity."""

    required = ("viscosity", "at")

    viscosity: Quantity.viscosity | None = None
    at: Quantity.stated_temperature | None = None


class Oil(Part):
    """An oil, from a bottle or blended of others."""

    viscosity: Quantity.viscosity | None = None
    at: Quantity.stated_temperature | None = None
    second: Second | None = None
    vtc: Quantity.vtc | None = None
    density: Quantity.density | None = None
    expansion: Quantity.expansion | None = None
    label: Name | None = None
    blend: dict[str, Quantity.share] | None = None

    def complaints(self) -> Iterator[Complaint]:
        """A viscosity or a blend; SUS with a temperature, dynamic with a density; whole shares."""
        if self.viscosity is None and self.blend is None:
            yield (
                ("viscosity",),
                Mistake("file/missing-key", "viscosity is missing (or blend, which gives it)"),
            )
        if self.viscosity is not None:
            yield from _viscosity_complaints(("viscosity",), self.viscosity, self.at, self.density)
        if self.second is not None and self.second.viscosity is not None:
            path = ("second", "viscosity")
            yield from _viscosity_complaints(
                path, self.second.viscosity, self.second.at, self.density
            )
            yield from self._second_complaints(self.second)
        if self.blend is not None:
            yield from self._blend_complaints(self.blend)

    def _second_complaints(self, second: Second) -> Iterator[Complaint]:
        """Two points at two temperatures, the warmer one the thinner."""
        one, other, warm = self.viscosity, second.viscosity, second.at
        if one is None or other is None or warm is None:
            return
        change = warm.value - (self.at or STATED_AT).value
        if abs(change) < 0.01:
            message = f"both viscosities are at the same temperature, {shown(warm.text)}"
            yield ("second", "at"), Mistake("file/out-of-range", message)
        elif _alike(one, other) and (other.value - one.value) * change > 0.0:
            message = (
                f"{shown(one.text)} at {shown((self.at or STATED_AT).text)}, but "
                f"{shown(other.text)} at {shown(warm.text)}: no oil is thicker when warmer"
            )
            yield ("second", "viscosity"), Mistake("file/out-of-range", message)

    def _blend_complaints(self, blend: dict[str, Reading]) -> Iterator[Complaint]:
        if len(blend) > MOST_IN_A_BLEND:
            message = f"{len(blend)} oils in one blend; at most {MOST_IN_A_BLEND} fit here"
            yield ("blend",), Mistake("file/out-of-range", message)
            return
        total = sum(share.value for share in blend.values())
        if abs(total - 1.0) > 0.005:
            message = f"the shares add up to {total * 100:.6g} %; a blend's add up to 100 %"
            yield ("blend",), Mistake("file/out-of-range", message)


def _alike(one: Reading, other: Reading) -> bool:
    """Say whether two viscosities can be compared as they are."""
    dynamic = [reading.unit in SIZES["dynamic viscosity"] for reading in (one, other)]
    return "SUS" not in (one.unit, other.unit) and dynamic[0] == dynamic[1]


def _viscosity_complaints(
    path: tuple[str, ...], viscosity: Reading, at: Reading | None, density: Reading | None
) -> Iterator[Complaint]:
    if viscosity.unit == "SUS":
        known = (stated.value for stated in SAYBOLT_TEMPERATURES)
        if at is None or not any(abs(at.value - k) < 0.01 for k in known):
            message = (
                f'{shown(viscosity.text)} needs its temperature: at = "100 degF" or "210 degF"'
            )
            yield path, Mistake("file/not-a-reading", message)
        elif viscosity.value < LEAST_SUS:
            message = f"{shown(viscosity.text)}: below 32 SUS there is no viscosity (ASTM D2161)"
            yield path, Mistake("file/out-of-range", message)
        elif viscosity.value > MOST_SUS:
            message = f"{shown(viscosity.text)} is out of range: this takes up to {MOST_SUS:g} SUS"
            yield path, Mistake("file/out-of-range", message)
    elif viscosity.unit in SIZES["dynamic viscosity"] and density is None:
        message = (
            f"{shown(viscosity.text)} is a dynamic viscosity: give the oil's density too, such as "
            'density = "0.968 g/cm^3", or its viscosity in cSt'
        )
        yield path, Mistake("file/wrong-dimension", message)


class Spring(Part):
    """A spring: its rate, or the four that give it."""

    rate: Quantity.spring_rate | None = None
    free_length: Quantity.length | None = None
    solid_length: Quantity.length | None = None
    wire: Quantity.wire | None = None
    mean_diameter: Quantity.cup | None = None
    coils: Quantity.coils | None = None
    shear_modulus: Quantity.stiffness | None = None

    def complaints(self) -> Iterator[Complaint]:
        """A rate, or the wire, mean diameter and coils that give it."""
        if self.rate is None and None in (self.wire, self.mean_diameter, self.coils):
            message = "rate is missing (or wire, mean_diameter and coils, which give it)"
            yield ("rate",), Mistake("file/missing-key", message)
        if self.wire and self.mean_diameter and self.wire.value >= self.mean_diameter.value:
            message = (
                f"the wire, {shown(self.wire.text)}, is not thinner than the mean diameter of the "
                f"spring, {shown(self.mean_diameter.text)}"
            )
            yield ("wire",), Mistake("file/out-of-range", message)


class Parts(Table):
    """NAME.parts.toml: what the drawers hold."""

    body: dict[str, Body]
    shaft: dict[str, Shaft]
    piston: dict[str, Piston]
    bladder: dict[str, Bladder]
    oil: dict[str, Oil]
    spring: dict[str, Spring]


#: The kinds of part, in the order in which a builder picks them up.
PART_KINDS = ("body", "shaft", "piston", "bladder", "oil", "spring")


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
        """The coldest oil cannot be hotter than the hottest."""
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
        """Each damper needs a piston, an oil, and a hold-back or poured-in air."""
        needs = ("piston", "oil", "hold_back" if self.style == "bladder" else "air")
        for name, end in (("front", self.front), ("rear", self.rear)):
            if end is None:
                continue
            for key in needs:
                yield from _missing_in_end(name, end, key)


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
