"""Work the figures of one damper out of its readings.

A measure is a function of one damper under one condition; `floored` asks for the figure as read,
else it comes before any floor.

Open, and how it is read here: what is below nothing before its floor is so in the terms of it, too
(a use divides the need before its floor; the gas of a sealed cap gives way to such a need);
windows are over all conditions that there are; a rebound's neutral point has no floor; a void's
need into the cap keeps its own floor; a blend given no viscosity has none given; the collar of a
damper with no spring is not asked for; what a flight frees is asked for at the event alone.
"""

import math
from collections.abc import Callable

from tests.oracle import dampers, formulas
from tests.oracle.dampers import Build

Values = dict[str, float]
STEPS = ("deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked")


class Missing(Exception):  # noqa: N818
    """Say that something is not known."""


class NotAsked(Missing):
    """Say that a figure makes no sense here, so that no rule speaks of it."""


class Damper:
    """Look a damper's readings up among the values of the moment."""

    def __init__(self, build: Build, corner: str, x: Values, condition: str, floored: bool) -> None:
        """Take the build, the corner and the values."""
        self.build, self.x, self.floored = build, x, floored
        self.fields = build.dampers[corner]
        self.condition = condition
        self.t0, self.h0 = (x[str(key)] for key in build.conditions["bench"])
        if condition not in build.conditions:
            raise Missing
        self.t, height = (x[str(key)] for key in build.conditions[condition])
        self.p0, self.p = formulas.air_pressure(self.h0), formulas.air_pressure(height)

    def __call__(self, key: str) -> float:
        """Give a reading, or say that it is missing."""
        if not self.fields[key]:
            raise Missing
        return self.x[self.fields[key]]

    def known(self, key: str) -> bool:
        """Say whether a reading is given."""
        return bool(self.fields[key])

    def floor(self, figure: float) -> float:
        """Let a figure be no less than nothing, where it is as read."""
        return max(0.0, figure) if self.floored else figure

    def at(self, condition: str) -> "Damper":
        """Look at the same damper under another condition."""
        other = Damper.__new__(Damper)
        other.__dict__.update(self.__dict__)
        other.condition = condition
        other.t, height = (self.x[str(key)] for key in self.build.conditions[condition])
        other.p = formulas.air_pressure(height)
        return other

    # what several measures stand on

    def area(self) -> float:
        """Give the shaft's area."""
        return formulas.disc(self("shaft"))

    def ring(self) -> float:
        """Give the area of the bore round the shaft; nobody knows it where that is no thinner."""
        found = formulas.disc(self("bore")) - self.area()
        if found <= 0.0:
            raise Missing
        return found

    def limiter(self) -> float:
        """Give what the limiter takes, none where it is left out."""
        return self("limiter") if self.known("limiter") else 0.0

    def stroke(self) -> float:
        """Give the stroke left."""
        return self("stroke") - self.limiter()

    def oil(self) -> float:
        """Give the oil at filling."""
        if self.known("oil"):
            return self("oil")
        return formulas.disc(self("bore")) * self("body_length") * self.x[self.fields["fill"]]

    def expansion(self) -> float:
        """Give the oil's cubic expansion."""
        return dampers.mean(self.fields["law"], self.x, "expansion")

    def swell(self) -> float:
        """Give what oil and trapped air grow by."""
        grown = formulas.growth(self.oil(), self.expansion(), self.t - self.t0)
        return grown + self.trapped(self.t, self.p)

    def trapped(self, t: float, p: float) -> float:
        """Give what trapped air grows by; under a sealed cap the outside does not count."""
        if not self.known("air") or self.build.style == "emulsion":
            return 0.0
        p = self.p0 if self.fields["sealed"] else p
        return formulas.air_growth(self("air"), self.t0, self.p0, t, p)

    def room(self, way: str) -> float:
        """Give a bladder's room as measured, or 0.8 of its cup's volume."""
        if self.build.style == "emulsion":
            raise NotAsked
        if self.known(way):
            room = self(way)
        elif "cup" in self.fields:
            radius, depth = (self.x[key] for key in self.fields["cup"])
            room = 0.8 * formulas.cap_of_sphere(radius, depth)
        else:
            raise Missing
        return min(room, self("gas")) if way == "into_cap" and self.fields["sealed"] else room

    def viscosity(self) -> float:
        """Give the oil's viscosity under the condition."""
        return dampers.viscosity(self.fields["law"], self.x, self.t)

    def density(self) -> float:
        """Give the oil's density at 25 degC."""
        return dampers.mean(self.fields["law"], self.x, "density")

    def flow(self) -> tuple[float, float]:
        """Give c and q of force = c v + q v^2."""
        rho = formulas.density_at(self.density(), self.expansion(), self.t)
        holes = [(n, self.x[a], self.x[b]) for n, a, b in self.fields["holes"]]
        chamfer = self("chamfer") if self.known("chamfer") else 0.0
        mu = self.viscosity() * rho
        c = formulas.low_speed_damping(self.ring(), holes, self("thickness"), mu, chamfer)
        return c, formulas.kinetic_damping(self.ring(), holes, rho)

    def wire(self) -> float:
        """Give the rate of the wire."""
        shear = self.x[self.fields["shear"]]
        return formulas.wire_rate(shear, self("wire"), self("mean_diameter"), self("coils"))

    def rate(self) -> float:
        """Give the spring's rate as given, or of the wire."""
        return self("rate") if self.known("rate") else self.wire()

    def wheel_rate(self) -> float:
        """Give the spring's rate at the wheel."""
        return self.rate() * self("motion_ratio") ** 2

    def every(self) -> "list[Damper]":
        """Look at the damper under every condition."""
        return [self.at(name) for name in self.build.conditions]


def body_need(d: Damper) -> float:
    """Give the room needed into the body, fully out."""
    bladder_only(d)
    return d.floor(d.area() * (d.stroke() - d("hold_back")) - d.swell())


def cap_need(d: Damper) -> float:
    """Give the room needed into the cap, fully in."""
    bladder_only(d)
    return d.floor(d.area() * d("hold_back") + d.swell())


def bladder_only(d: Damper) -> None:
    """Refuse an emulsion."""
    if d.build.style == "emulsion":
        raise NotAsked


def smallest(d: Damper) -> float:
    """Give the least hold-back, under any condition."""
    room = d.room("into_body")
    return max(at.stroke() - (room + at.swell()) / at.area() for at in d.every())


def largest(d: Damper) -> float:
    """Give the greatest hold-back, under any condition."""
    room = d.room("into_cap")
    return min((room - at.swell()) / at.area() for at in d.every())


def cap_pressure(d: Damper) -> float:
    """Give the pressure over the bladder, sealed and fully in."""
    bladder_only(d)
    if not d.fields["sealed"]:
        raise NotAsked
    taken = d.area() * d("hold_back") + d.swell()
    taken = max(0.0, taken) if d.floored else taken
    return formulas.squeezed(d.p0, d("gas"), taken, d.t0, d.t)


def emulsion_use(d: Damper) -> float:
    """Give the share of the air poured in that shaft and heat take."""
    if d.build.style != "emulsion":
        raise NotAsked
    travel = d("hold_back") if d.known("hold_back") else d.stroke()
    grown = formulas.growth(d.oil(), d.expansion(), d.t - d.t0)
    return d.floor(d.area() * travel + grown) / d("air")


def road_use(d: Damper) -> float:
    """Give the use of the cap at the bench's temperature at the highest place on the road."""
    bladder_only(d)
    if not d.build.highest:
        raise NotAsked
    highest = formulas.air_pressure(d.x[d.build.highest])
    taken = d.area() * d("hold_back") + d.trapped(d.t0, highest)
    return d.floor(taken) / d.room("into_cap")


def after_flight(d: Damper) -> float:
    """Give the use of the cap at the event with all the air that the flight there can free."""
    bladder_only(d)
    if d.condition == "bench" or not d.build.event or d.build.event.get("arrive_by") != "air":
        raise NotAsked
    cabin = formulas.air_pressure(formulas.CABIN)
    freed = formulas.freed_air(d.oil(), d.p0, cabin)
    here = d.p0 if d.fields["sealed"] else d.p
    freed += formulas.air_growth(freed, d.t0, cabin, d.t, here)
    taken = d.area() * d("hold_back") + d.swell() + freed
    return d.floor(taken) / d.room("into_cap")


def damping_ratio(d: Damper) -> float:
    """Give damping over critical damping."""
    k, ratio = d.wheel_rate(), d("motion_ratio")
    return d.flow()[0] * ratio**2 / (2 * math.sqrt(k * d("corner_mass")))


def pack_speed(d: Damper) -> float:
    """Give the speed at which kinetic loss equals viscous."""
    c, q = d.flow()
    return c / q


def cavitation_speed(d: Damper) -> float:
    """Give the speed going in from which the damper can cavitate."""
    own = d.fields["sealed"] or d.build.style == "emulsion"
    pressure = d.p0 * d.t / d.t0 if own else d.p
    return formulas.speed_of_force(*d.flow(), pressure * d.ring())


def coil_gap(d: Damper) -> float:
    """Give the gap before the coils touch, fully in."""
    known = d.known("solid_length")
    solid = d("solid_length") if known else (d("coils") + 2) * d("wire")
    return d("seat_gap") - d("collar") - d("stroke") - solid


def slack(d: Damper) -> float:
    """Give the play of the spring, fully out, below nothing where it is preloaded."""
    return d("seat_gap") - d("collar") - d.limiter() - d("free_length")


def sag(d: Damper) -> float:
    """Give the travel that the weight takes up: of the play first, less the preload."""
    load = d("corner_mass") * formulas.GRAVITY / d("motion_ratio")
    return d.floor(load / d.rate() + slack(d))


def given_viscosity(d: Damper) -> float:
    """Give the viscosity as the drawers state it."""
    law = d.fields["law"]
    if not law["viscosity"]:
        raise Missing
    return dampers.kinematic(law, d.x, law["viscosity"], d.x[law["at"]], law["dynamic"])


def blend_disagreement(d: Damper) -> float:
    """Compare the viscosity given with that of the parts, at its temperature."""
    law = d.fields["law"]
    if not law["blend"] or not law["viscosity"]:
        raise NotAsked
    slope = sum(share * dampers.slope(part, d.x) for share, part in law["blend"])
    mixed = formulas.viscosity_at(dampers.of_parts(law, d.x), formulas.AT_25, slope, d.x[law["at"]])
    return given_viscosity(d) / mixed - 1


def spread(d: Damper) -> float:
    """Compare the viscosity cold with that hot."""
    if "cold" not in d.build.conditions:
        raise Missing
    return d.at("cold").viscosity() / d.at("hot").viscosity() - 1


def void_stroke(d: Damper) -> float:
    """Give how far a void can grow until the bladder's room into the cap is used."""
    need = max(0.0, d.area() * d("hold_back") + d.swell())
    return d.floor(d.room("into_cap") - need) / d.ring()


def steps_missing(d: Damper) -> float:
    """Count the bench steps that are not listed; an emulsion is not bled."""
    if d.fields["done"] is None:
        raise Missing
    steps = [step for step in STEPS if step != "bled" or d.build.style != "emulsion"]
    return float(sum(step not in d.fields["done"] for step in steps))


def runtime(d: Damper) -> float:
    """Give the running time in hours."""
    return d("runtime")


def asked(d: Damper, key: str) -> float:
    """Give a reading without which nobody asks."""
    if not d.known(key):
        raise NotAsked
    return d(key)


Measure = Callable[[Damper], float]

PLAIN: dict[str, Measure] = {
    "hold_back": lambda d: d("hold_back"),
    "length": lambda d: d("length"),
    "rebound": lambda d: d("rebound"),
    "limiter": lambda d: d.limiter(),
    "collar": lambda d: d("collar") if d.fields["ids"]["spring"] else asked(d, "collar"),
    "body_length": lambda d: d("body_length"),
    "stroke": lambda d: d("stroke"),
    "oil_volume": lambda d: d.oil(),
    "viscosity_given": given_viscosity,
    "density": lambda d: d.density(),
    "runtime": runtime,
    "stroke_left": lambda d: d.stroke(),
    "displacement": lambda d: d.area() * d.stroke(),
    "hold_back_share": lambda d: d("hold_back") / d.stroke(),
    "smallest_hold_back": smallest,
    "largest_hold_back": largest,
    "hold_back_window": lambda d: largest(d) - smallest(d),
    "piston_clearance": lambda d: d("bore") - d("piston"),
    "shaft_room": lambda d: d("bore") - d("shaft"),
    "piston_to_spare": lambda d: asked(d, "largest") - d("piston"),
    "spring_rate": lambda d: d.rate(),
    "rate_disagreement": lambda d: asked(d, "rate") / (asked(d, "wire") and d.wire()) - 1,
    "wheel_rate": lambda d: d.wheel_rate(),
    "ride_frequency": lambda d: math.sqrt(d.wheel_rate() / d("corner_mass")) / (2 * math.pi),
    "coil_gap": coil_gap,
    "spring_slack": lambda d: d.floor(slack(d)),
    "sag": sag,
    "sag_share": lambda d: sag(d) / d.stroke(),
    "steps_missing": steps_missing,
    "blend_disagreement": blend_disagreement,
    "viscosity_spread": spread,
    "neutral_point": lambda d: max(d("hold_back"), d("rebound") * d.stroke()),
    "sealed_in": lambda d: d.area() * (d("rebound") * d.stroke() - d("hold_back")),
    "road_use": road_use,
}
UNDER: dict[str, Measure] = {
    "into_body_need": body_need,
    "into_cap_need": cap_need,
    "into_body_use": lambda d: body_need(d) / d.room("into_body"),
    "into_cap_use": lambda d: cap_need(d) / d.room("into_cap"),
    "cap_pressure": cap_pressure,
    "viscosity": lambda d: d.viscosity(),
    "emulsion_use": emulsion_use,
    "damping_ratio": damping_ratio,
    "cavitation_speed": cavitation_speed,
    "pack_speed": pack_speed,
    "damping": lambda d: d.flow()[0],
    "void_stroke": void_stroke,
    "after_flight_use": after_flight,
}
WINDOWS = ("smallest_hold_back", "largest_hold_back", "hold_back_window")
BALANCES = {"damping_balance": "damping_ratio", "frequency_balance": "ride_frequency"}

MEASURES = (*PLAIN, *UNDER, *BALANCES, "days_before_event")
