"""One finished damper as a frozen record of plain figures in SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from buildlint.measures.origin import Origin
from buildlint.text.words import clean

__all__ = ["CORNERS", "KEYS_OF_PART", "KEY_IN_PART", "READINGS_OF", "Damper"]

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
    build: str | None = None  # its id
    like: Damper | None = None  # the same corner of the build that this one is like
    plan: bool = False  # not built yet
    style: Literal["bladder", "emulsion"] = "bladder"
    car: str | None = None  # as named, known or not
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
    chamfer: float | None = None  # of the holes, at each face
    bladder_bore: float | None = None  # of the bodies that it is made for
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
    planned_hold_back: float | None = None  # what the end says, where the side was read
    planned_length: float | None = None
    planned_rebound: float | None = None
    planned_collar: float | None = None
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
    def has_twin(self) -> bool:
        """Whether the build that it should be like is for the same event: then it is its twin.

        One that is to feel alike at another event has other oil, and may be sealed otherwise.
        """
        return self.like is not None and self.like.event == self.event

    @property
    def has_like(self) -> bool:
        """Whether there is a build that it should be like, with such a damper."""
        return self.like is not None

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
    def gas_over_bladder(self) -> bool | None:
        """Whether a sealed cap holds gas over a bladder; None where the cap is not known."""
        if self.style != "bladder":
            return False
        return None if self.cap is None else self.cap == "sealed"

    @property
    def sprung(self) -> bool:
        """Whether the build says anything of a spring or its collar."""
        return self.spring is not None or self.collar is not None

    @property
    def passes_height(self) -> bool:
        """Whether the car goes by road over a height that is given, with a bladder to lift."""
        return self.style == "bladder" and self.arrive_by == "road" and self.highest is not None

    @property
    def bladder_has_bore(self) -> bool:
        """Whether it has a bladder that says for which bore it is made."""
        return self.style == "bladder" and self.bladder_bore is not None

    @property
    def piston_is_limited(self) -> bool:
        """Whether the body says which piston is the largest that it takes."""
        return self.largest_piston is not None

    def is_given(self, name: str) -> bool:
        """Return whether a reading was given; a default may stand in for it.

        What stands in for a key of a part stands at the part as a whole.
        """
        place = self.origin.get(name)
        return name not in self.estimates and (
            place is None or name not in KEY_IN_PART or len(place.keys) > _KEYS_TO_PART
        )

    def in_words(self, name: str) -> str:
        """Say what a builder would have to give for a figure that is missing.

        >>> Damper(end="rear", side="left", bladder="b1").in_words("bladder_into_cap")
        'into_cap of bladder b1'
        """
        if name in KEY_IN_PART:
            kind, key = KEY_IN_PART[name]
            ident = getattr(self, kind)
            return f"{key} of {kind} {clean(ident)}" if ident is not None else kind
        return self._elsewhere(name)

    def read_as(self, name: str) -> str:
        """Name a reading that a figure stands on.

        >>> Damper(end="rear", side="left", oil="o450").read_as("viscosity_given_at")
        'at of oil o450'
        """
        if name not in _READ_AS:
            return self.in_words(name)
        kind, _ = KEY_IN_PART[name]
        ident = getattr(self, kind)
        return f"{_READ_AS[name]} of {kind} {clean(ident)}" if ident is not None else kind

    def _elsewhere(self, name: str) -> str:
        if name in _KEY_IN_EVENT and self.event is not None:
            return f"{_KEY_IN_EVENT[name]} of event {clean(self.event)}"
        if name == "car_class" and self.car is not None:
            return f"class of car {clean(self.car)}"
        return _KEY_ELSEWHERE.get(name, name)


#: The readings of each kind of part, each with the key that it has there.
KEYS_OF_PART: dict[str, dict[str, str]] = {
    "body": {
        "bore": "bore",
        "stroke": "stroke",
        "body_length": "length",
        "oil_volume": "oil",
        "gas_volume": "gas",
        "largest_piston": "piston",
    },
    "shaft": {"shaft_diameter": "diameter"},
    "piston": {
        "piston_diameter": "diameter",
        "piston_thickness": "thickness",
        "taper_to": "taper_to",
        "chamfer": "chamfer",
    },
    "bladder": {
        "bladder_bore": "bore",
        "bladder_into_body": "into_body",
        "bladder_into_cap": "into_cap",
    },
    "oil": {"density": "density", "expansion": "expansion"},
    "spring": {
        "spring_rate": "rate",
        "rate_given": "rate",
        "free_length": "free_length",
        "solid_length": "solid_length",
        "wire": "wire",
        "mean_diameter": "mean_diameter",
        "coils": "coils",
        "shear_modulus": "shear_modulus",
    },
}

#: Which part each figure comes of, and the key that would have to be given there for it.
KEY_IN_PART: dict[str, tuple[str, str]] = {
    **{name: (kind, key) for kind, keys in KEYS_OF_PART.items() for name, key in keys.items()},
    "cap": ("body", "cap"),
    "holes": ("piston", "holes"),
    "viscosity_given": ("oil", "viscosity"),
    "viscosity_given_at": ("oil", "viscosity"),
    "blend_viscosity": ("oil", "blend"),
    "blend_slope": ("oil", "blend"),
    "second_viscosity": ("oil", "second"),
    "second_viscosity_at": ("oil", "second"),
    "slope_given": ("oil", "vtc"),
}
#: The readings that come of each kind of part.
READINGS_OF: dict[str, frozenset[str]] = {
    kind: frozenset(name for name, (of, _) in KEY_IN_PART.items() if of == kind)
    for kind in KEYS_OF_PART
}
# Keys that lead to a part: its kind and its id.
_KEYS_TO_PART = 2

# What was read, where that is not what would have to be given.
_READ_AS = {
    "viscosity_given_at": "at",
    "blend_viscosity": "viscosity of the blend",
    "blend_slope": "slope of the blend",
    "second_viscosity": "second.viscosity",
    "second_viscosity_at": "second.at",
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
    "car_class": "class of the car",
    "event_on": "an event",
    "coldest": "an event",
    "hottest": "an event",
    "event_altitude": "an event",
    "highest": "highest altitude of the event",
    "corner_mass": "corner_mass of the car",
    "motion_ratio": "motion_ratio of the car",
    "seat_gap": "seat_gap of the car",
}
