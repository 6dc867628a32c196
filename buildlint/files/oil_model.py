"""An oil: its viscosity, at one point or two, or what it is blended of; and what must agree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from pydantic import ConfigDict, Field

from buildlint.files.derived import Three
from buildlint.files.fields import Name, Part, Quantity
from buildlint.files.kind import LEAST_SUS, MOST_SUS
from buildlint.files.readings import Mistake, Reading, read
from buildlint.files.tables import Complaint, Drawer, Table, any_of, says
from buildlint.files.unit_sizes import SIZES
from buildlint.files.viscosities import kinematic
from buildlint.text.words import shown

__all__ = ["MOST_IN_A_BLEND", "STATED_AT", "Oil", "Second"]

# In JSON Schema: of the units of viscosity, only the dynamic ones have a P.
_DYNAMIC = {"type": "string", "pattern": "P"}
_SAYBOLT = {"type": "string", "pattern": "SUS"}

#: The most oils in one blend.
MOST_IN_A_BLEND = 8

#: Where no temperature is stated with a viscosity.
STATED_AT = read("25 degC", "temperature")

#: Saybolt Universal seconds are defined at these temperatures (ASTM D2161).
SAYBOLT_TEMPERATURES = tuple(read(text, "temperature") for text in ("100 degF", "210 degF"))


class Second(Table):
    """A second point of an oil's viscosity."""

    model_config = ConfigDict(title="Second viscosity")

    viscosity: Quantity.viscosity = Field(description="Viscosity at the second temperature.")
    at: Quantity.stated_temperature = Field(
        description="The second temperature, another than that of the first point."
    )


class Oil(Part):
    """An oil: its viscosity, or the blend that it is mixed of."""

    model_config = ConfigDict(title="Oil")
    together: ClassVar[dict[str, Any]] = {
        **any_of(["viscosity"], ["blend"]),
        "allOf": [
            {"if": says("viscosity", **_DYNAMIC), "then": {"required": ["density"]}},
            {
                "if": says("second", **says("viscosity", **_DYNAMIC)),
                "then": {"required": ["density"]},
            },
            {"if": says("viscosity", **_SAYBOLT), "then": {"required": ["at"]}},
        ],
    }

    viscosity: Quantity.viscosity | None = Field(
        default=None,
        description="Viscosity by the data sheet, never the weight number on the bottle.",
    )
    at: Quantity.stated_temperature | None = Field(
        default=None,
        description="Temperature at which the viscosity is stated.",
        json_schema_extra={"default": STATED_AT.text},
    )
    second: Second | None = Field(
        default=None, description="A second point of the viscosity, at another temperature."
    )
    vtc: Quantity.vtc | None = Field(
        default=None,
        description="Viscosity-temperature coefficient; read where there is no second point.",
    )
    density: Quantity.density | None = Field(
        default=None, description="Density at 25 degC; needed where the viscosity is a dynamic one."
    )
    expansion: Quantity.expansion | None = Field(
        default=None,
        description="Cubic expansion: share of its volume that it grows by for each degree.",
    )
    label: Name | None = Field(default=None, description="What the bottle calls it.")
    blend: Drawer[Quantity.share] | None = Field(
        default=None,
        description="The oils that it is mixed of, each by its id with its share of the volume.",
        json_schema_extra={"minProperties": 1, "maxProperties": MOST_IN_A_BLEND},
    )

    def kinematic(self, viscosity: Reading | None, at: Reading | None) -> Three | None:
        """Return a viscosity of the oil in m^2/s; None where it cannot be had."""
        return kinematic(viscosity, at, self.density, self.expansion)

    def complaints(self) -> Iterator[Complaint]:
        """A viscosity or a blend; SUS with a temperature, dynamic with a density; whole shares."""
        if self.viscosity is None and self.blend is None:
            message = "viscosity is missing (or blend, which gives it)"
            yield ("viscosity",), Mistake("file/missing-key", message, with_keys=("blend",))
        if self.viscosity is not None:
            yield from _viscosity_complaints(("viscosity",), self.viscosity, self.at, self.density)
        if self.second is not None and self.second.viscosity is not None:
            path = ("second", "viscosity")
            yield from _viscosity_complaints(
                path, self.second.viscosity, self.second.at, self.density
            )
            yield from self._second_complaints(self.second)
        if self.viscosity is not None and self.second is not None and self.vtc is not None:
            message = "vtc is not read beside second: both say how the oil thins, so give only one"
            yield ("vtc",), Mistake("file/unread-key", message)
        if self.blend is not None:
            yield from self._blend_complaints(self.blend)
            for key in ("at", "second", "vtc"):
                if self.viscosity is None and getattr(self, key) is not None:
                    message = f"{key} is not read without viscosity: a blend has that of its parts"
                    yield (key,), Mistake("file/unread-key", message, with_keys=("viscosity",))

    def _second_complaints(self, second: Second) -> Iterator[Complaint]:
        """Two points at two temperatures, the warmer one the thinner."""
        one, other, warm = self.viscosity, second.viscosity, second.at
        if one is None or other is None or warm is None:
            return
        change = warm.value - (self.at or STATED_AT).value
        if abs(change) < 0.01:
            message = f"both viscosities are at the same temperature, {shown(warm.text)}"
            yield ("second", "at"), Mistake("file/out-of-range", message)
            return
        points = self.kinematic(one, self.at), self.kinematic(other, warm)
        pair, in_cst = (one.value, other.value), ""
        if points[0] is not None and points[1] is not None:
            pair = points[0][0], points[1][0]
            if one.unit != other.unit:
                in_cst = f", {pair[0] * 1e6:.5g} and {pair[1] * 1e6:.5g} cSt"
        elif not all(reading.unit in SIZES["dynamic viscosity"] for reading in (one, other)):
            return  # what it lacks to be compared is a complaint of its own
        if (pair[1] - pair[0]) * change > 0.0:
            message = (
                f"{shown(one.text)} at {shown((self.at or STATED_AT).text)}, but "
                f"{shown(other.text)} at {shown(warm.text)}{in_cst}: no oil is thicker when warmer"
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
