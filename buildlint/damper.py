"""One finished damper as a frozen record of plain figures in SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from buildlint.origin import Origin
from buildlint.words import clean

__all__ = ["CORNERS", "KEY_IN_PART", "Damper"]

#: The four dampers of a car.
CORNERS = (("front", "left"), ("front", "right"), ("rear", "left"), ("rear", "right"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Damper:
    """A finished damper. Lengths in m, volumes in m^3, viscosities in m^2/s, temperatures in K.

    A figure that is None was not given. `spread` has the least and most of each figure that is not
    exact; `origin` says where each was read; `estimates` names those that are only estimated,
    `refused` those that were given but refused: not known, even if they may be left out.

    >>> d = Damper(end="front", side="left", shaft_diameter=3.5e-3, stroke=30e-3)
    >>> d.hold_back is None
    True
    """

    end: str
    side: str
    style: Literal["bladder", "emulsion"] = "bladder"
    car_class: str | None = None
    event: str | None = None  # as named, known or not

    body: str | None = None
    shaft: str | None = None
    piston: str | None = None
    bladder: str | None = None
    oil: str | None = None
    spring: str | None = None

    bore: float | None = None
    stroke: float | None = None  # of the body, with no limiter
    body_length: float | None = None
    oil_volume: float | None = None
    cap: Literal["vented", "sealed"] | None = None
    gas_volume: float | None = None
    largest_piston: float | None = None
    shaft_diameter: float | None = None
    piston_diameter: float | None = None
    piston_thickness: float | None = None
    holes: tuple[tuple[int, float], ...] | None = None  # (how many, diameter)
    taper_to: float | None = None
    bladder_into_body: float | None = None
    bladder_into_cap: float | None = None

    viscosity_given: float | None = None
    viscosity_given_at: float | None = None
    second_viscosity: float | None = None
    second_viscosity_at: float | None = None
    slope_given: float | None = None  # B in K; None where the second viscosity gives it
    density: float | None = None  # kg/m^3 at 25 degC
    expansion: float | None = None  # cubic, 1/K
    blend_viscosity: float | None = None  # at 25 degC, of an oil with both a blend and a viscosity
    blend_slope: float | None = None

    spring_rate: float | None = None  # N/m: as given, else of the wire
    rate_given: float | None = None  # N/m
    free_length: float | None = None
    solid_length: float | None = None
    wire: float | None = None
    mean_diameter: float | None = None
    coils: float | None = None
    shear_modulus: float | None = None  # Pa

    corner_mass: float | None = None  # kg
    motion_ratio: float | None = None  # damper travel / wheel travel
    seat_gap: float | None = None

    hold_back: float | None = None
    limiter: float | None = 0.0
    collar: float | None = None
    length: float | None = None
    rebound: float | None = None
    air: float | None = 0.0
    runtime: float | None = None  # s
    label: str | None = None
    done: tuple[str, ...] | None = None

    bench_temperature: float | None = None
    bench_altitude: float | None = None
    bench_on: float | None = None  # days
    event_on: float | None = None
    coldest: float | None = None
    hottest: float | None = None
    event_altitude: float | None = None
    arrive_by: Literal["road", "air"] | None = None
    highest: float | None = None  # altitude on the road there

    spread: dict[str, tuple[Any, Any]] = field(default_factory=dict)
    origin: dict[str, Origin] = field(default_factory=dict)
    estimates: frozenset[str] = frozenset()
    refused: frozenset[str] = frozenset()

    @property
    def corner(self) -> str:
        """The subject of a finding on this damper: "front.left"."""
        return f"{self.end}.{self.side}"

    @property
    def has_event(self) -> bool:
        """Whether there is an event to judge the damper at."""
        return (self.event, self.coldest, self.hottest) != (None, None, None)

    @property
    def has_blend(self) -> bool:
        """Whether the oil states a viscosity and a blend, which can be held against each other."""
        return self.blend_viscosity is not None

    @property
    def rate_stands_twice(self) -> bool:
        """Whether the spring's rate is given and its wire too, which can be held against it."""
        return None not in (self.rate_given, self.wire, self.mean_diameter, self.coils)

    @property
    def arrives_by_air(self) -> bool:
        """Whether the car goes to its event by air, with a bladder that freed air would lift."""
        return self.style == "bladder" and self.arrive_by == "air"

    @property
    def sprung(self) -> bool:
        """Whether the build says anything of a spring or its collar."""
        return self.spring is not None or self.collar is not None

    @property
    def passes_height(self) -> bool:
        """Whether the car goes by road over a height that is given, with a bladder to lift."""
        return self.style == "bladder" and self.arrive_by == "road" and self.highest is not None

    @property
    def piston_is_limited(self) -> bool:
        """Whether the body says which piston is the largest that it takes."""
        return self.largest_piston is not None

    def in_words(self, name: str) -> str:
        """Say what a builder would have to give for a figure that is missing.

        >>> Damper(end="rear", side="left", bladder="b1").in_words("bladder_into_cap")
        'into_cap of bladder b1'
        """
        if name in KEY_IN_PART:
            kind, key = KEY_IN_PART[name]
            ident = getattr(self, kind)
            return f"{key} of {kind} {clean(ident)}" if ident is not None else kind
        if name in _KEY_IN_EVENT and self.event is not None:
            return f"{_KEY_IN_EVENT[name]} of event {clean(self.event)}"
        return _KEY_ELSEWHERE.get(name, name)


#: Which part each figure is read from, and the key that it has there.
KEY_IN_PART: dict[str, tuple[str, str]] = {
    "bore": ("body", "bore"),
    "stroke": ("body", "stroke"),
    "body_length": ("body", "length"),
    "oil_volume": ("body", "oil"),
    "cap": ("body", "cap"),
    "gas_volume": ("body", "gas"),
    "largest_piston": ("body", "piston"),
    "shaft_diameter": ("shaft", "diameter"),
    "piston_diameter": ("piston", "diameter"),
    "piston_thickness": ("piston", "thickness"),
    "holes": ("piston", "holes"),
    "taper_to": ("piston", "taper_to"),
    "bladder_into_body": ("bladder", "into_body"),
    "bladder_into_cap": ("bladder", "into_cap"),
    "viscosity_given": ("oil", "viscosity"),
    "viscosity_given_at": ("oil", "viscosity"),
    "density": ("oil", "density"),
    "expansion": ("oil", "expansion"),
    "blend_viscosity": ("oil", "blend"),
    "blend_slope": ("oil", "blend"),
    "second_viscosity": ("oil", "second"),
    "second_viscosity_at": ("oil", "second"),
    "slope_given": ("oil", "vtc"),
    "spring_rate": ("spring", "rate"),
    "rate_given": ("spring", "rate"),
    "free_length": ("spring", "free_length"),
    "solid_length": ("spring", "solid_length"),
    "wire": ("spring", "wire"),
    "mean_diameter": ("spring", "mean_diameter"),
    "coils": ("spring", "coils"),
    "shear_modulus": ("spring", "shear_modulus"),
}
_KEY_IN_EVENT = {
    "event_on": "date",
    "coldest": "coldest",
    "hottest": "hottest",
    "event_altitude": "altitude",
}
_KEY_ELSEWHERE = {
    "bench_temperature": "bench temperature",
    "bench_altitude": "bench altitude",
    "bench_on": "bench date",
    "done": "bench steps listed under done",
    "event_on": "event",
    "coldest": "event",
    "hottest": "event",
    "event_altitude": "event",
    "highest": "highest altitude of the event",
    "corner_mass": "corner_mass of the car",
    "motion_ratio": "motion_ratio of the car",
    "seat_gap": "seat_gap of the car",
}
