"""What a parts file holds: which keys each kind of part takes, and what must agree among them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar, Literal

from pydantic import ConfigDict, Field

from buildlint.files.fields import Name, Part, Quantity
from buildlint.files.holes import PistonHoles
from buildlint.files.oil_model import Oil
from buildlint.files.readings import Mistake, Reading
from buildlint.files.tables import Complaint, Drawer, Table, any_of, says
from buildlint.physics.displacement import circle_area
from buildlint.text.words import listed, shown

__all__ = [
    "PART_KINDS",
    "Bladder",
    "Body",
    "Cup",
    "Parts",
    "Piston",
    "Shaft",
    "Spring",
]

# The cap holds oil too, while piston, shaft and bladder take up room: so much of what the tube
# holds is still believed (ours, not published).
_LEAST_OF_THE_TUBE = 0.6
_MOST_OF_THE_TUBE = 1.5


class Body(Part):
    """A damper's body with its cap."""

    model_config = ConfigDict(title="Body")
    together: ClassVar[dict[str, Any]] = {
        "if": says("cap", const="sealed"),
        "then": {"required": ["gas"]},
    }

    bore: Quantity.bore = Field(description="Inside diameter of the tube.")
    stroke: Quantity.stroke = Field(description="How far the shaft travels with no limiter.")
    length: Quantity.body_length = Field(description="Length of the tube.")
    oil: Quantity.volume | None = Field(
        default=None, description="Oil at filling; left out, it is worked out of bore and length."
    )
    cap: Literal["vented", "sealed"] = Field(
        default="vented", description="Whether the cap has a vent hole or is sealed."
    )
    gas: Quantity.volume | None = Field(
        default=None,
        description="Gas over the bladder; needed under a sealed cap, and read only there.",
    )
    piston: Quantity.piston | None = Field(
        default=None, description="Diameter of the largest piston that fits."
    )

    def complaints(self) -> Iterator[Complaint]:
        """A sealed cap needs its gas, a vented one has none; oil and stroke go with the body."""
        if self.cap == "sealed" and self.gas is None and "gas" not in self.given:
            yield (
                ("gas",),
                Mistake(
                    "file/missing-key",
                    "gas is missing: with a sealed cap, the volume of gas over the bladder, "
                    'such as "600 mm^3"',
                ),
            )
        if self.cap == "vented" and self.gas is not None:
            message = 'gas is read only with cap = "sealed": a vented cap lets the outside in'
            yield ("gas",), Mistake("file/unread-key", message, with_keys=("cap",))
        if self.stroke and self.length and self.stroke.value > self.length.value:
            message = (
                f"the stroke, {shown(self.stroke.text)}, is more than the length of the body, "
                f"{shown(self.length.text)}"
            )
            yield ("stroke",), Mistake("file/out-of-range", message)
        if self.oil and self.bore and self.length:
            yield from _oil_complaints(self.oil, self.bore, self.length)


def _oil_complaints(oil: Reading, bore: Reading, length: Reading) -> Iterator[Complaint]:
    """Compare the oil at filling with what the tube holds, about."""
    tube = circle_area(bore.value) * length.value
    least = circle_area(bore.low) * length.low * _LEAST_OF_THE_TUBE
    most = circle_area(bore.high) * length.high * _MOST_OF_THE_TUBE
    if oil.high < least or oil.low > most:
        message = (
            f"{shown(oil.text)} of oil is far {'less' if oil.high < least else 'more'} than bore "
            f"and length hold, {tube * 1e6:.1f} ml: 60 % to 150 % of that is believed"
        )
        yield ("oil",), Mistake("file/out-of-range", message)


class Shaft(Part):
    """A damper's shaft."""

    model_config = ConfigDict(title="Shaft")

    diameter: Quantity.shaft = Field(description="Diameter where it passes the seal.")
    coating: Name | None = Field(default=None, description="What the shaft is coated with.")


class Piston(Part):
    """A piston with its holes."""

    model_config = ConfigDict(title="Piston")

    diameter: Quantity.piston = Field(description="Outside diameter.")
    thickness: Quantity.thickness = Field(description="Thickness, which is how long its holes are.")
    holes: PistonHoles = Field(
        description="Number and size of its holes; several sizes are joined with +."
    )
    taper_to: Quantity.hole | None = Field(
        default=None,
        description="Size of the holes at the face towards the oil below the piston, through which "
        "the oil comes in as the shaft goes out, where they taper; holes is then their size at the "
        "other face.",
    )
    chamfer: Quantity.chamfer | None = Field(
        default=None,
        description="Width of the broken edge of the holes, at each face; left out, sharp edges.",
    )

    def complaints(self) -> Iterator[Complaint]:
        """The holes and their edges leave something of the piston."""
        if self.chamfer and self.thickness and self.chamfer.high * 2.0 >= self.thickness.low:
            message = (
                f"broken edges of {shown(self.chamfer.text)} at each face leave nothing of a "
                f"piston {shown(self.thickness.text)} thick"
            )
            yield ("chamfer",), Mistake("file/out-of-range", message)
        if self.holes is None or self.diameter is None:
            return
        open_area = sum(count * circle_area(size.low) for count, size in self.holes.groups)
        if open_area >= circle_area(self.diameter.high):
            message = (
                f"{shown(self.holes.text)} are holes of more area than the piston has, "
                f"{shown(self.diameter.text)} across"
            )
            yield ("holes",), Mistake("file/out-of-range", message)
        if self.taper_to is None:
            return
        wide = sum(count for count, _ in self.holes.groups) * circle_area(self.taper_to.low)
        if wide >= circle_area(self.diameter.high):
            message = (
                f"{shown(self.taper_to.text)} at one end are holes of more area than the piston "
                f"has, {shown(self.diameter.text)} across"
            )
            yield ("taper_to",), Mistake("file/out-of-range", message)


class Cup(Table):
    """A bladder's cup, for an estimate of its room."""

    model_config = ConfigDict(title="Cup")

    radius: Quantity.cup = Field(description="Radius of the cup's mouth.")
    depth: Quantity.cup = Field(description="Depth of the cup.")


class Bladder(Part):
    """A bladder: the volumes that it can give each way, or its cup for an estimate."""

    model_config = ConfigDict(title="Bladder")

    bore: Quantity.bore | None = Field(
        default=None, description="Bore of the bodies that it is made for."
    )
    into_body: Quantity.room | None = Field(
        default=None,
        description="Volume that it can give down into the body, measured with a syringe.",
    )
    into_cap: Quantity.room | None = Field(
        default=None,
        description="Volume that it can give up into the cap, measured with a syringe.",
    )
    cup: Cup | None = Field(
        default=None, description="Its cup, for an estimate where the volumes are not measured."
    )


class Spring(Part):
    """A spring: its rate, or the wire, mean diameter and coils that give it."""

    model_config = ConfigDict(title="Spring")
    together: ClassVar[dict[str, Any]] = any_of(["rate"], ["wire", "mean_diameter", "coils"])

    rate: Quantity.spring_rate | None = Field(
        default=None, description="Spring rate as measured or marked."
    )
    free_length: Quantity.length | None = Field(default=None, description="Length with no load.")
    solid_length: Quantity.length | None = Field(
        default=None, description="Length with all coils touching."
    )
    wire: Quantity.wire | None = Field(default=None, description="Diameter of the wire.")
    mean_diameter: Quantity.cup | None = Field(
        default=None, description="Diameter of the coils, from middle to middle of the wire."
    )
    coils: Quantity.coils | None = Field(default=None, description="Number of coils that work.")
    shear_modulus: Quantity.stiffness | None = Field(
        default=None,
        description="Shear modulus of the wire; left out, 81.5 GPa, 6 % less to 2 % more, which no "
        "stainless wire has.",
    )

    def complaints(self) -> Iterator[Complaint]:
        """A rate, or all that gives it; a wire thinner than the coil; a shorter solid length."""
        if self.rate is None and None in (self.wire, self.mean_diameter, self.coils):
            message = "rate is missing (or wire, mean_diameter and coils, which give it)"
            gives_it = ("wire", "mean_diameter", "coils")
            yield ("rate",), Mistake("file/missing-key", message, with_keys=gives_it)
        elif self.rate is not None:
            yield from self._unread()
        if self.wire and self.mean_diameter and self.wire.value >= self.mean_diameter.value:
            message = (
                f"the wire, {shown(self.wire.text)}, is not thinner than the mean diameter of the "
                f"spring, {shown(self.mean_diameter.text)}"
            )
            yield ("wire",), Mistake("file/out-of-range", message)
        if self.free_length and self.solid_length and self.solid_length.low > self.free_length.high:
            message = (
                f"the solid length, {shown(self.solid_length.text)}, is more than the free length, "
                f"{shown(self.free_length.text)}"
            )
            yield ("solid_length",), Mistake("file/out-of-range", message)

    def _unread(self) -> Iterator[Complaint]:
        """Beside a rate, wire and coils without the mean diameter give a solid length at most."""
        give_it = ("wire", "mean_diameter", "coils")
        missing = [key for key in give_it if getattr(self, key) is None]
        solid = missing == ["mean_diameter"] and self.solid_length is None
        for key in ("shear_modulus",) if solid else (*give_it, "shear_modulus"):
            if missing and getattr(self, key) is not None:
                message = f"{key} is not read without {listed(missing)}"
                yield (key,), Mistake("file/unread-key", message, with_keys=tuple(missing))


class Parts(Table):
    """What a parts file holds; each part in a table of its kind and id, such as [body.b14]."""

    model_config = ConfigDict(title="NAME.parts.toml")
    together: ClassVar[dict[str, Any]] = {"minProperties": 1}

    body: Drawer[Body] = Field(default_factory=dict, description="Bodies with their caps, by id.")
    shaft: Drawer[Shaft] = Field(default_factory=dict, description="Shafts, by id.")
    piston: Drawer[Piston] = Field(default_factory=dict, description="Pistons, by id.")
    bladder: Drawer[Bladder] = Field(default_factory=dict, description="Bladders, by id.")
    oil: Drawer[Oil] = Field(default_factory=dict, description="Oils, by id.")
    spring: Drawer[Spring] = Field(default_factory=dict, description="Springs, by id.")


#: The kinds of part, in the order in which a builder picks them up.
PART_KINDS = ("body", "shaft", "piston", "bladder", "oil", "spring")
