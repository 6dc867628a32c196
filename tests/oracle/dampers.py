"""Read a team's files and put each damper together as a dict.

Every reading of a build stands once in `readings`, by a key that says what it is a reading of:
(as read, lowest, highest). A damper names the keys of its own. Two dampers that name the same key
stand on the same reading.

Open, and how it is read here: what a file says once of both sides of an end is one reading, in a
build and in a car; a default that stands in for an oil's density or
expansion is of that oil alone; a body without `oil` holds bore times length, those two as read, and
15 % besides; a dynamic viscosity is divided by the density at the temperature that it is stated at;
the room by a cup and a solid length by the wire have no tolerance but that of their readings.
"""

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import tomli

from tests.oracle import formulas

CORNERS = ("front.left", "front.right", "rear.left", "rear.right")

UNITS = {
    "mm": 1e-3, "cm": 1e-2, "m": 1.0, "um": 1e-6, "in": 0.0254, "ft": 0.3048, "thou": 2.54e-5,
    "mm^3": 1e-9, "cm^3": 1e-6, "ml": 1e-6, "l": 1e-3,
    "cSt": 1e-6, "mm^2/s": 1e-6, "St": 1e-4, "cP": 1e-3, "mPa.s": 1e-3, "Pa.s": 1.0,
    "K": 1.0, "degC": 1.0, "degF": 1 / 1.8,
    "N/mm": 1e3, "N/m": 1.0, "lbf/in": 175.126835246, "lb/in": 175.126835246, "gf/mm": 9.80665,
    "g": 1e-3, "kg": 1.0, "oz": 0.028349523125, "lb": 0.45359237,
    "g/cm^3": 1e3, "g/ml": 1e3, "kg/m^3": 1.0, "1/K": 1.0, "GPa": 1e9, "MPa": 1e6,
    "Pa": 1.0, "kPa": 1e3, "%": 1e-2, "": 1.0, "h": 1.0, "min": 1 / 60,
    "day": 1.0, "m/s": 1.0, "N s/m": 1.0, "Hz": 1.0,
}  # fmt: skip
ZERO = {"degC": 273.15, "degF": 459.67 / 1.8}
DYNAMIC = ("cP", "mPa.s", "Pa.s")

# key: (absolute, relative) half width where none is written
FINE, CALIPER, TENTH, FIVE = (2e-5, 0.0), (1e-4, 0.0), (0.0, 0.1), (0.0, 0.05)
DEFAULTS = {
    "bore": FINE, "stroke": CALIPER, "length": CALIPER, "oil": TENTH, "gas": TENTH,
    "largest": FINE, "diameter": FINE, "thickness": CALIPER, "hole": FINE, "taper_to": FINE,
    "chamfer": CALIPER, "into_body": TENTH, "into_cap": TENTH, "radius": CALIPER, "depth": CALIPER,
    "viscosity": FIVE, "density": (0.0, 0.005), "expansion": (0.0, 0.03), "rate": FIVE,
    "wire": FINE, "mean_diameter": CALIPER, "shear_modulus": (0.0, 0.02), "free_length": CALIPER,
    "solid_length": CALIPER, "corner_mass": FIVE, "motion_ratio": (0.0, 0.03), "seat_gap": CALIPER,
    "altitude": (20.0, 0.0), "highest": (20.0, 0.0), "temperature": (2.0, 0.0),
    "coldest": (2.0, 0.0), "hottest": (2.0, 0.0), "hold_back": (3e-4, 0.0), "limiter": CALIPER,
    "collar": CALIPER, "rebound": (0.03, 0.0), "air": TENTH,
}  # fmt: skip
ENDS = {"rebound": (0.0, 1.0), "altitude": (-1e9, 1e9), "highest": (-1e9, 1e9)}

Reading = tuple[float, float, float]
Table = dict[str, Any]

_NUMBER = r"-?(?:\d+ \d+/\d+|\d+/\d+(?=\s)|\d+(?:\.\d+)?(?:e-?\d+)?)"
_TEXT = re.compile(rf"^(?P<n>{_NUMBER})\s*(?P<u>[^±+]*?)(?:\s*(?:±|\+/-)\s*(?P<t>.+))?$")


def number(text: str) -> float:
    """Read a number, a fraction or a mixed one."""
    return float(sum(Fraction(word) for word in text.split()))


def amount(text: object) -> tuple[float, str]:
    """Read a figure with its unit, into SI."""
    found = _TEXT.match(str(text))
    if found is None:
        raise ValueError(f"not an amount: {text}")
    unit = found["u"].strip()
    return number(found["n"]) * UNITS[unit] + ZERO.get(unit, 0.0), unit


def reading(key: str, text: object) -> Reading:
    """Read a figure with the ends of its tolerance, kept within what is possible."""
    value, unit = amount(text)
    absolute, relative = DEFAULTS.get(key, (0.0, 0.0))
    found = _TEXT.match(str(text))
    if found is not None and found["t"]:
        wide, its = amount(found["t"])
        if its == "%" and unit != "%":
            absolute, relative = 0.0, wide
        else:
            absolute, relative = (wide - ZERO.get(its, 0.0) if its else wide * UNITS[unit]), 0.0
    half = absolute + relative * abs(value)
    least, most = ENDS.get(key, (0.0, float("inf")))
    return value, max(least, value - half), min(most, value + half)


def load(root: Path) -> dict[str, dict[str, Table]]:
    """Read all files of a team: kind, then id."""
    team: dict[str, dict[str, Table]] = {}
    for path in sorted(root.rglob("*.toml")):
        name, _, kind = path.name.removesuffix(".toml").rpartition(".")
        if kind in ("car", "event", "build"):
            team.setdefault(kind, {})[name] = tomli.loads(path.read_text("utf-8"))
        elif kind == "parts":
            for part, tables in tomli.loads(path.read_text("utf-8")).items():
                team.setdefault(part, {}).update(tables)
    return team


class Build:
    """Hold a build's readings, its four dampers, and its conditions."""

    def __init__(self, team: dict[str, dict[str, Table]], name: str) -> None:
        """Put the build together."""
        self.team = team
        self.table = team["build"][name]
        self.readings: dict[str, Reading] = {}
        self.worked_out: dict[Any, Any] = {}
        self.style = self.table.get("style", "bladder")
        self.car = team["car"][self.table["car"]]
        self.event = team["event"].get(self.table.get("event", ""))
        self.highest: str | None = None
        bench = self.table["bench"]
        self.conditions = {
            "bench": (
                self.keep("bench", "temperature", bench),
                self.keep("bench", "altitude", bench),
            )
        }
        if self.event:
            height = self.keep("event", "altitude", self.event)
            for name, key in (("cold", "coldest"), ("hot", "hottest")):
                self.conditions[name] = (self.keep("event", key, self.event), height)
            self.highest = self.keep("event", "highest", self.event)
        self.dampers = {corner: self.damper(corner) for corner in CORNERS}

    def keep(self, owner: str, key: str, table: Table, field: str | None = None) -> str | None:
        """Keep a reading of a table, if it is given, and name its key."""
        if (field or key) not in table:
            return None
        self.readings[f"{owner} {key}"] = reading(key, table[field or key])
        return f"{owner} {key}"

    def assume(self, key: str, value: float, low: float, high: float) -> str:
        """Keep a default with its tolerance."""
        self.readings[key] = (value, low, high)
        return key

    def damper(self, corner: str) -> Table:
        """Put one damper together."""
        end, side = corner.split(".")
        fitted = self.car[end]
        own = self.table[end]
        own = {**{k: v for k, v in own.items() if k not in ("left", "right")}, **own.get(side, {})}
        part: dict[str, Table] = {}
        damper: Table = {"ids": {}, "done": own.get("done")}
        for kind in ("body", "shaft", "piston", "bladder", "oil", "spring"):
            name = own.get(kind, fitted.get(kind))
            if kind == "bladder" and self.style == "emulsion":
                name = None
            damper["ids"][kind] = name
            part[kind] = self.team[kind][name] if name is not None else {}
        for kind, keys in (
            ("body", "bore stroke oil gas"),
            ("piston", "thickness chamfer"),
            ("bladder", "into_body into_cap"),
            ("spring", "rate wire mean_diameter coils shear_modulus free_length solid_length"),
        ):
            for key in keys.split():
                damper[key] = self.keep(f"{corner} {kind}", key, part[kind])
        damper["body_length"] = self.keep(f"{corner} body", "length", part["body"])
        damper["largest"] = self.keep(f"{corner} body", "largest", part["body"], "piston")
        damper["shaft"] = self.keep(f"{corner} shaft", "diameter", part["shaft"])
        damper["piston"] = self.keep(f"{corner} piston", "diameter", part["piston"])
        for key in ("corner_mass", "motion_ratio", "seat_gap"):
            damper[key] = self.keep(f"{end} car", key, fitted)
        for key in ("hold_back", "limiter", "collar", "length", "rebound", "air", "runtime"):
            damper[key] = self.keep(
                corner if key in self.table[end].get(side, {}) else end, key, own
            )
        damper["sealed"] = part["body"].get("cap") == "sealed"
        damper["holes"] = self.holes(corner, part["piston"])
        damper["law"] = self.oil(damper["ids"]["oil"])
        damper["fill"] = self.assume(f"{corner} fill", 1.0, 0.85, 1.15)
        cup = part["bladder"].get("cup")
        if cup:
            damper["cup"] = tuple(
                self.keep(f"{corner} cup", key, cup) for key in ("radius", "depth")
            )
        damper["shear"] = damper["shear_modulus"] or self.assume(
            f"{corner} shear", 81.5e9, 81.5e9 * 0.94, 81.5e9 * 1.02
        )
        return damper

    def holes(self, corner: str, piston: Table) -> list[tuple[float, str, str]]:
        """Name the readings of each size of hole: at its own face, and at the other."""
        other = self.keep(f"{corner} piston", "taper_to", piston)
        found = []
        for index, group in enumerate(piston["holes"].split(" + ")):
            count, _, size = group.partition(" x ")
            key = f"{corner} hole {index}"
            self.readings[key] = reading("hole", size)
            found.append((float(count), key, other or key))
        return found

    def oil(self, name: str) -> Table:
        """Describe an oil: the keys of its readings, and those of what it is blended of."""
        table = self.team["oil"][name]
        owner = f"oil {name}"
        law: Table = {"blend": [], "dynamic": False, "vtc": self.keep(owner, "vtc", table)}
        law["viscosity"] = self.keep(owner, "viscosity", table)
        law["dynamic"] = amount(table.get("viscosity", "1 cSt"))[1] in DYNAMIC
        law["at"] = self.keep(owner, "at", {"at": "25 degC", **table})
        if "second" in table:
            second = table["second"]
            law["second"] = self.keep(f"{owner} second", "viscosity", second)
            law["second_at"] = self.keep(f"{owner} second", "at", second)
            law["second_dynamic"] = amount(second["viscosity"])[1] in DYNAMIC
        for part, share in table.get("blend", {}).items():
            law["blend"].append((amount(share)[0], self.oil(part)))
        law["density"] = self.keep(owner, "density", table)
        law["expansion"] = self.keep(owner, "expansion", table)
        if not law["blend"]:
            law["density"] = law["density"] or self.assume(f"{owner} density", 968.0, 963.0, 973.0)
            law["expansion"] = law["expansion"] or self.assume(
                f"{owner} expansion", 9.7e-4, 9.1e-4, 10.3e-4
            )
        else:
            as_read = {key: value for key, (value, _, _) in self.readings.items()}
            off = formulas.blend_tolerance(
                [viscosity(part, as_read, formulas.AT_25) for _, part in law["blend"]]
            )
            law["mixing"] = self.assume(f"{owner} mixing", 1.0, 1 - off, 1 + off)
        return law


def mean(law: Table, x: dict[str, float], key: str) -> float:
    """Give an oil's density or expansion, a blend's the mean of its parts' by share."""
    if law[key]:
        return x[law[key]]
    return sum(share * mean(part, x, key) for share, part in law["blend"])


def kinematic(law: Table, x: dict[str, float], key: str, t: float, dynamic: bool) -> float:
    """Give a viscosity as stated, divided by the density where it is a dynamic one."""
    if not dynamic:
        return x[key]
    return x[key] / formulas.density_at(mean(law, x, "density"), mean(law, x, "expansion"), t)


def slope(law: Table, x: dict[str, float]) -> float:
    """Give an oil's B, a blend's the mean of its parts' by share."""
    if law.get("second"):
        at, second_at = x[law["at"]], x[law["second_at"]]
        first = kinematic(law, x, law["viscosity"], at, law["dynamic"])
        second = kinematic(law, x, law["second"], second_at, law["second_dynamic"])
        found = formulas.slope_of_points(first, at, second, second_at)
        return max(found, 0.0)  # where tolerances cross, no oil is thicker when warmer
    if law["vtc"] is not None:
        return formulas.slope_of_vtc(x[law["vtc"]])
    if law["blend"]:
        return sum(share * slope(part, x) for share, part in law["blend"])
    return formulas.ONE_POINT


def of_parts(law: Table, x: dict[str, float]) -> float:
    """Mix a blend of its parts, each brought to 25 degC by its own law."""
    parts = [(share, viscosity(part, x, formulas.AT_25)) for share, part in law["blend"]]
    return formulas.mixed(parts) * x[law["mixing"]]


def viscosity(law: Table, x: dict[str, float], t: float) -> float:
    """Give an oil's kinematic viscosity at a temperature."""
    if law["viscosity"]:
        at = x[law["at"]]
        nu = kinematic(law, x, law["viscosity"], at, law["dynamic"])
        return formulas.viscosity_at(nu, at, slope(law, x), t)
    return formulas.viscosity_at(of_parts(law, x), formulas.AT_25, slope(law, x), t)
