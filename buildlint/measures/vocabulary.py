"""The vocabulary: every named figure of a damper or a car, what it is, and its unit.

How a measure is worked out is the function of its name in the modules beside this one; one that
has no function is a reading of a `Damper`, or of the whole car (`of`).
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["MEASURES", "OF_THE_BLADDER", "Measure"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A named figure: its unit in reports, the reading that a finding points at, what it is.

    `called` is what a message calls it, where `means` would be too long. `floor` is a value that
    the figure never goes below: a need is never less than nothing. `only` says of which dampers it
    speaks at all; `of` is, for a measure of the whole car, the damper's measure whose mean at the
    front is divided by that at the rear; `against` is, for one against the build that a build is
    like, the measure that is compared. `given` is a reading without which it says nothing.
    `after_journey` marks what has no meaning at the bench. `why_not` names what says in words why
    it is not so. `follows` is another measure: where a must on that one fails or is borderline, or
    left and right are found apart, a should on this one says no more.
    """

    name: str
    unit: str
    about: str
    means: str
    called: str = ""
    floor: float | None = None
    only: tuple[str, str | bool] | None = None
    of: str = ""
    against: str = ""
    given: str = ""
    after_journey: bool = False
    why_not: str = ""
    follows: str = ""

    @property
    def in_words(self) -> str:
        """What a message calls it."""
        return self.called or self.means


_LINES = (
    # as read
    Measure(
        "hold_back", "mm", "hold_back", "shaft still showing when the cap is sealed", "hold-back"
    ),
    Measure("length", "mm", "length", "eye to eye, fully out", "length"),
    Measure(
        "rebound",
        "1",
        "rebound",
        "share of the stroke that the shaft comes back by itself",
        "rebound",
    ),
    Measure("limiter", "mm", "limiter", "what the limiter takes off the stroke", "limiter"),
    Measure(
        "collar", "mm", "collar", "preload collar from its datum", "collar", only=("sprung", True)
    ),
    Measure("body_length", "mm", "body_length", "length of the body's tube", "body length"),
    Measure("stroke", "mm", "stroke", "shaft travel with no limiter", "stroke"),
    Measure("oil_volume", "mm^3", "oil_volume", "oil at filling"),
    Measure(
        "viscosity_given",
        "cSt",
        "viscosity_given",
        "viscosity as the parts file states it",
        "viscosity in the parts file",
    ),
    Measure("density", "g/cm^3", "density", "density of the oil at 25 degC"),
    Measure("runtime", "h", "runtime", "running time since the last oil change"),
    Measure("body", "id", "body", "body"),
    Measure("shaft", "id", "shaft", "shaft"),
    Measure("piston", "id", "piston", "piston"),
    Measure("bladder", "id", "bladder", "bladder", only=("style", "bladder")),
    Measure("oil", "id", "oil", "oil"),
    Measure("spring", "id", "spring", "spring"),
    Measure("parts", "id", "piston", "body, shaft, piston, bladder, oil and spring together"),
    # worked out
    Measure("stroke_left", "mm", "limiter", "stroke that the limiter leaves"),
    Measure("displacement", "mm^3", "shaft", "what the shaft displaces over its stroke"),
    Measure("hold_back_share", "1", "hold_back", "hold-back as a share of the stroke left"),
    Measure(
        "smallest_hold_back",
        "mm",
        "hold_back",
        "least hold-back that lets the bladder follow the shaft",
        only=("style", "bladder"),
    ),
    Measure(
        "largest_hold_back",
        "mm",
        "hold_back",
        "most hold-back that leaves the bladder room in the cap",
        only=("style", "bladder"),
    ),
    Measure(
        "hold_back_window",
        "mm",
        "hold_back",
        "largest less smallest hold-back",
        "window of hold-back",
        only=("style", "bladder"),
    ),
    Measure(
        "neutral_point",
        "mm",
        "rebound",
        "where the bladder rests, from fully in, by the rebound",
        only=("style", "bladder"),
    ),
    Measure(
        "sealed_in",
        "mm^3",
        "rebound",
        "oil sealed in beyond what the hold-back says, by the rebound",
        only=("style", "bladder"),
    ),
    Measure("piston_clearance", "mm", "piston", "bore less piston", "clearance"),
    Measure("shaft_room", "mm", "shaft", "bore less shaft"),
    Measure(
        "piston_to_spare",
        "mm",
        "piston",
        "largest piston that the body takes, less this one",
        "what the largest piston that fits has over this one",
        only=("piston_is_limited", True),
    ),
    Measure(
        "bladder_bore_off",
        "mm",
        "bladder",
        "bore that the bladder is made for, less the body's",
        "difference between the bore that the bladder is made for and the body's",
        only=("bladder_has_bore", True),
    ),
    Measure(
        "cap_over_body",
        "1",
        "bladder_into_cap",
        "bladder's room into the cap as a share of that into the body",
        only=("style", "bladder"),
    ),
    Measure("spring_rate", "N/mm", "spring", "spring rate, given or of the wire", "spring rate"),
    Measure(
        "rate_disagreement",
        "1",
        "rate_given",
        "difference between the spring rate given and that of the wire",
        only=("rate_stands_twice", True),
    ),
    Measure("wheel_rate", "N/mm", "spring", "spring rate at the wheel"),
    Measure("ride_frequency", "Hz", "spring", "undamped frequency of the corner", "ride frequency"),
    Measure(
        "coil_gap",
        "mm",
        "spring",
        "gap before the coils touch, fully in",
        "gap before the coils touch",
    ),
    Measure(
        "spring_slack",
        "mm",
        "spring",
        "free play of the spring, fully out",
        "free play of the spring",
        floor=0.0,
    ),
    Measure("sag", "mm", "spring", "shaft travel that the car's weight takes up", "sag", floor=0.0),
    Measure("sag_share", "1", "spring", "share of the stroke that the sag takes up", floor=0.0),
    Measure("steps_missing", "step", "done", "bench steps not listed as done"),
    Measure("rebound_read", "yes", "rebound", "rebound was read"),
    Measure(
        "label_agrees",
        "yes",
        "label",
        "label on the cap agrees with what is inside",
        why_not="label_disagreements",
    ),
    Measure(
        "damping_balance",
        "1",
        "piston",
        "damping ratio of the front as a share of the rear's",
        of="damping_ratio",
    ),
    Measure(
        "frequency_balance",
        "1",
        "spring",
        "ride frequency of the front as a share of the rear's",
        of="ride_frequency",
    ),
    Measure("bench_temperature", "degC", "bench_temperature", "temperature at the bench"),
    Measure(
        "days_before_event",
        "day",
        "bench_on",
        "days from bench to event",
        only=("has_event", True),
    ),
    Measure(
        "blend_disagreement",
        "1",
        "viscosity_given",
        "difference between the viscosity given and that of the parts",
        only=("has_blend", True),
    ),
    # at each condition
    Measure(
        "into_body_need",
        "mm^3",
        "hold_back",
        "room needed into the body, fully out",
        "room needed into the body",
        floor=0.0,
        only=("style", "bladder"),
    ),
    Measure(
        "into_cap_need",
        "mm^3",
        "hold_back",
        "room needed into the cap, fully in",
        "room needed into the cap",
        floor=0.0,
        only=("style", "bladder"),
    ),
    Measure(
        "into_body_use",
        "1",
        "hold_back",
        "room that the bladder uses into the body, as a share",
        "room used into the body",
        floor=0.0,
        only=("style", "bladder"),
    ),
    Measure(
        "into_cap_use",
        "1",
        "hold_back",
        "room that the bladder uses into the cap, as a share",
        "room used into the cap",
        floor=0.0,
        only=("style", "bladder"),
    ),
    Measure(
        "rebound_use",
        "1",
        "rebound",
        "room that the bladder uses into the cap, from where the rebound says that it rests",
        "room used into the cap by the rebound",
        floor=0.0,
        only=("style", "bladder"),
        follows="into_cap_use",
    ),
    Measure(
        "cap_pressure",
        "kPa",
        "hold_back",
        "absolute pressure over the bladder, sealed and fully in",
        "absolute pressure over the bladder",
        only=("gas_over_bladder", True),
    ),
    Measure("viscosity", "cSt", "oil", "viscosity at the condition"),
    Measure(
        "viscosity_spread", "1", "oil", "thickening of the oil from its hottest to its coldest"
    ),
    Measure(
        "emulsion_use",
        "1",
        "air",
        "air that the shaft and warm oil use up, fully in, as a share",
        "air used",
        floor=0.0,
        only=("style", "emulsion"),
    ),
    Measure(
        "after_flight_use",
        "1",
        "hold_back",
        "room that the bladder uses into the cap, with all the air that a flight can free",
        "room used into the cap after the flight",
        floor=0.0,
        only=("arrives_by_air", True),
        after_journey=True,
    ),
    Measure(
        "road_use",
        "1",
        "hold_back",
        "room that the bladder uses into the cap at the highest place on the road",
        "room used into the cap at the highest place on the road",
        floor=0.0,
        only=("passes_height", True),
    ),
    Measure("damping_ratio", "1", "oil", "damping over critical damping", "damping ratio"),
    Measure(
        "cavitation_speed",
        "m/s",
        "oil",
        "shaft speed going in from which the oil can cavitate",
    ),
    Measure(
        "void_stroke",
        "mm",
        "hold_back",
        "slack on the way back once the oil has cavitated, at most",
        floor=0.0,
        only=("style", "bladder"),
    ),
    Measure(
        "pack_speed",
        "m/s",
        "piston",
        "shaft speed at which the damper packs: kinetic loss equals viscous",
    ),
    Measure("damping", "N s/m", "piston", "force over speed, at low speed", "damping"),
    Measure(
        "mean_damping",
        "N s/m",
        "piston",
        "geometric mean of the damping cold and hot; of no event, that at the bench",
    ),
    # a side's reading less what its end says, which was planned for it
    *(
        Measure(
            f"{reading}_off_plan",
            unit,
            reading,
            f"{called} less what was planned for this side",
            given=f"planned_{reading}",
            follows=reading,
        )
        for reading, unit, called in (
            ("hold_back", "mm", "hold-back"),
            ("length", "mm", "length"),
            ("rebound", "1", "rebound"),
            ("collar", "mm", "collar"),
        )
    ),
    # against the build that a build is like
    Measure(
        "damping_against",
        "1",
        "oil",
        "mean damping over that of the build that it is like, at its own event, less one",
        only=("has_like", True),
        against="mean_damping",
    ),
    *(
        Measure(
            f"{reading}_against",
            unit,
            reading,
            f"{called} less that of the build that it is like",
            only=(when, True),
            against=reading,
        )
        for reading, unit, called, when in (
            ("hold_back", "mm", "hold-back", "has_twin"),
            ("length", "mm", "length", "has_like"),
            ("rebound", "1", "rebound", "has_twin"),
        )
    ),
    Measure(
        "parts_against",
        "yes",
        "piston",
        "the parts are those of the build that it is like",
        only=("has_twin", True),
    ),
)

#: The vocabulary, by name.
MEASURES: dict[str, Measure] = {measure.name: measure for measure in _LINES}

#: What tells how a bladder manages: where one of these fails, its gauge is drawn in full.
OF_THE_BLADDER = frozenset(
    ["into_body_use", "into_cap_use", "cap_pressure", "road_use", "hold_back_window"]
)
