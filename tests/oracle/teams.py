"""Write random teams as people do: no tolerances, readings left out, inches beside millimetres.

Everything in them is invented, and comes of a seed alone. What `without` names is left out of a
team, so that what is known to differ hides nothing else.
"""

import random
import re
from collections.abc import Callable, Collection
from pathlib import Path

STEPS = ("deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked")
FEATURES = (
    "expansion by default",
    "density by default",
    "holes that taper",
    "chamfers",
    "blends",
    "rates by the wire",
    "solid lengths by the wire",
    "bodies with no oil",
    "bladders by the cup",
    "flights",
    "dynamic viscosities",
    "holes of two sizes",
)

Table = dict[str, object]


def write(folder: Path, seed: int, builds: int, without: Collection[str] = ()) -> list[str]:
    """Write a team with so many builds, each with a car and an event, and name the builds."""
    pick = Picker(random.Random(seed), without)
    folder.mkdir(parents=True, exist_ok=True)
    parts: dict[str, dict[str, Table]] = {
        kind: {f"{kind}-{index}": make(pick) for index in range(6)} for kind, make in KINDS.items()
    }
    if pick.may("blends"):
        for index in range(3):
            parts["oil"][f"blend-{index}"] = blend(pick, sorted(parts["oil"])[-6:])
    (folder / "drawers.parts.toml").write_text(
        "".join(
            f"[{kind}.{name}]\n{lines(table)}\n"
            for kind, tables in parts.items()
            for name, table in tables.items()
        ),
        "utf-8",
    )
    names = [f"made-{index}" for index in range(builds)]
    for name in names:
        style = "emulsion" if pick.chance(0.25) else "bladder"
        (folder / f"{name}.car.toml").write_text(car(pick, name, style), "utf-8")
        (folder / f"{name}.event.toml").write_text(event(pick, name), "utf-8")
        (folder / f"{name}.build.toml").write_text(build(pick, name, style, parts), "utf-8")
    return names


_READING = re.compile(r'"([0-9.]+)( ?(?:(?![x±])[^"])*)"')


def wilder(text: str, rng: random.Random, share: float) -> str:
    """Change a share of a file's readings: far off, or known far less closely."""

    def other(found: re.Match[str]) -> str:
        value, unit = float(found[1]), found[2].replace("degC", "K")
        if rng.random() >= share:
            return found[0]
        if rng.random() < 0.3 and unit:  # a slope is worked out of `vtc` before it is moved
            half = plain(value * rng.uniform(0.05, 0.45))
            return f'"{found[1]}{found[2]} ± {half}{unit}"'
        return f'"{plain(value * 10 ** rng.choice((rng.uniform(-0.7, 0.7), 0.1)))}{found[2]}"'

    return _READING.sub(other, text)


def plain(value: float) -> str:
    """Write a number without an exponent."""
    return f"{value:.5f}".rstrip("0").rstrip(".")


class Picker:
    """Pick at random."""

    def __init__(self, rng: random.Random, without: Collection[str]) -> None:
        """Take a random generator, and what is to be left out."""
        unknown = set(without) - set(FEATURES)
        if unknown:
            raise ValueError(f"no such feature: {sorted(unknown)}")
        self.rng, self.without = rng, without

    def may(self, feature: str) -> bool:
        """Say whether a feature is left in."""
        return feature not in self.without

    def chance(self, share: float) -> bool:
        """Say yes so often."""
        return self.rng.random() < share

    def size(self, low: float, high: float, inches: bool = True, digits: int = 1) -> str:
        """Write a length, now and then in inches."""
        value = self.rng.uniform(low, high)
        if inches and self.chance(0.2):
            return f"{value / 25.4:.{digits + 2}f} in"
        return f"{value:.{digits}f} mm"

    def figure(self, low: float, high: float, unit: str, digits: int = 0) -> str:
        """Write a figure with its unit."""
        return f"{self.rng.uniform(low, high):.{digits}f} {unit}"

    def degrees(self, low: float, high: float) -> str:
        """Write a temperature, now and then in Fahrenheit."""
        value = self.rng.uniform(low, high)
        return f"{value * 1.8 + 32:.0f} degF" if self.chance(0.15) else f"{value:.0f} degC"

    def some(self, table: Table, keys: Collection[str]) -> Table:
        """Leave a third of what need not be given out."""
        return {k: v for k, v in table.items() if k not in keys or self.chance(0.67)}


def lines(table: Table) -> str:
    """Write a table's keys as TOML."""
    return "".join(f"{key} = {text(value)}\n" for key, value in table.items())


def text(value: object) -> str:
    """Write a value as TOML."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {text(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(text, value)) + "]"
    found = str(value)
    return found if found.startswith("20") and found.count("-") == 2 else f'"{found}"'


def body(pick: Picker) -> Table:
    """Make a body, three in ten with a sealed cap."""
    stroke = pick.rng.uniform(20, 36)
    table: Table = {
        "bore": pick.size(15.95, 16.05, digits=2),
        "stroke": f"{stroke:.1f} mm",
        "length": f"{stroke + pick.rng.uniform(20, 28):.0f} mm",
        "oil": pick.figure(7, 11, "ml", 1),
        "piston": pick.size(15.85, 15.95, digits=2),
    }
    if pick.chance(0.3):
        table |= {"cap": "sealed", "gas": pick.figure(400, 1300, "mm^3")}
    optional = ["piston", *(["oil"] if pick.may("bodies with no oil") else [])]
    return pick.some(table, optional)


def shaft(pick: Picker) -> Table:
    """Make a shaft."""
    return {"diameter": pick.size(2.9, 4.1, digits=2)}


def piston(pick: Picker) -> Table:
    """Make a piston, a third of them with two sizes of hole and a third with holes that taper."""
    holes = f"{pick.rng.randint(2, 8)} x {pick.figure(1.1, 2.0, 'mm', 1)}"
    if pick.may("holes of two sizes") and pick.chance(0.33):
        holes += f" + {pick.rng.randint(1, 4)} x {pick.figure(0.9, 1.5, 'mm', 1)}"
    table: Table = {
        "diameter": pick.size(15.8, 15.95, digits=2),
        "thickness": pick.size(2, 3.2),
        "holes": holes,
    }
    if pick.may("holes that taper") and pick.chance(0.33) and "+" not in holes:
        table["taper_to"] = pick.figure(1.0, 2.0, "mm", 1)
    if pick.may("chamfers") and pick.chance(0.3):
        table["chamfer"] = pick.figure(0, 0.4, "mm", 1)
    return table


def bladder(pick: Picker) -> Table:
    """Make a bladder, a few known by their cup alone."""
    if pick.may("bladders by the cup") and pick.chance(0.2):
        return {"cup": {"radius": pick.size(6, 8, False), "depth": pick.size(2, 5, False)}}
    table: Table = {
        "into_body": pick.figure(180, 480, "mm^3"),
        "into_cap": pick.figure(200, 520, "mm^3"),
    }
    return pick.some(table, ("into_body",)) if pick.chance(0.2) else table


def oil(pick: Picker) -> Table:
    """Make an oil, with one point, two, or a viscosity-temperature coefficient."""
    thick = pick.rng.uniform(200, 1200)
    table: Table = {"viscosity": f"{thick:.0f} cSt"}
    dynamic = ["dynamic"] if pick.may("dynamic viscosities") else []
    kind = pick.rng.choice(["one", "elsewhere", "second", "vtc", *dynamic])
    if kind == "elsewhere":
        table["at"] = pick.degrees(15, 40)
    if kind == "second":
        second = pick.rng.uniform(0.45, 0.6) * thick
        table["second"] = {"viscosity": f"{second:.0f} cSt", "at": pick.degrees(50, 65)}
    if kind == "vtc":
        table["vtc"] = f"{pick.rng.uniform(0.55, 0.64):.2f}"
    if kind == "dynamic":
        table["viscosity"] = f"{thick:.0f} {pick.rng.choice(('cP', 'mPa.s'))}"
    if kind == "dynamic" or not pick.may("density by default") or pick.chance(0.4):
        table["density"] = pick.figure(0.94, 0.98, "g/cm^3", 3)
    if not pick.may("expansion by default") or pick.chance(0.4):
        table["expansion"] = f"{pick.rng.uniform(9e-4, 10.5e-4):.6f} 1/K"
    return table


def blend(pick: Picker, oils: list[str]) -> Table:
    """Mix two or three oils, now and then with the viscosity measured."""
    mixed = pick.rng.sample(oils, pick.rng.choice((2, 2, 3)))
    shares = ["50 %", "50 %"] if len(mixed) == 2 else ["20 %", "30 %", "50 %"]
    if len(mixed) == 2 and pick.chance(0.7):
        first = pick.rng.randint(1, 9) * 10
        shares = [f"{first} %", f"{100 - first} %"]
    table: Table = {"blend": dict(zip(mixed, shares, strict=True))}
    if pick.chance(0.3):
        table["viscosity"] = pick.figure(300, 800, "cSt")
    return table


def spring(pick: Picker) -> Table:
    """Make a spring, known by its rate, its wire, or both."""
    rate: Table = {"rate": pick.figure(0.6, 1.1, "N/mm", 2)}
    if pick.chance(0.3):
        rate = {"rate": pick.figure(3.5, 6.3, "lb/in", 1)}
    wire: Table = {
        "wire": pick.size(1.4, 1.6, digits=2),
        "mean_diameter": pick.size(18, 21),
        "coils": pick.rng.choice(("6", "6.5", "7", "8")),
    }
    kinds = [rate]
    if pick.may("rates by the wire"):
        kinds += [wire, {**rate, **wire}]
    made = pick.rng.choice(kinds)
    if "wire" in made and pick.chance(0.4):
        made = {**made, "shear_modulus": pick.figure(77, 83, "GPa", 1)}
    made = {**made, "free_length": pick.size(65, 95), "solid_length": pick.size(18, 26)}
    needed = () if pick.may("solid lengths by the wire") else ("solid_length",)
    return pick.some(made, [k for k in ("free_length", "solid_length") if k not in needed])


KINDS: dict[str, Callable[[Picker], Table]] = {
    "body": body,
    "shaft": shaft,
    "piston": piston,
    "bladder": bladder,
    "oil": oil,
    "spring": spring,
}


def car(pick: Picker, name: str, style: str) -> str:
    """Write a car."""
    found = f'name = "{name}"\n'
    for end in ("front", "rear"):
        table: Table = {kind: f"{kind}-{pick.rng.randrange(6)}" for kind in ("body", "shaft")}
        if style == "bladder":
            table["bladder"] = f"bladder-{pick.rng.randrange(6)}"
        table["corner_mass"] = pick.figure(500, 1100, "g")
        table["motion_ratio"] = pick.figure(0.55, 0.75, "", 2).strip()
        table["seat_gap"] = pick.size(62, 88)
        table = pick.some(table, ("corner_mass", "motion_ratio", "seat_gap"))
        found += f"\n[{end}]\n{lines(table)}"
    return found


def event(pick: Picker, name: str) -> str:
    """Write an event: at home or high up, cold or hot, by road or by air."""
    coldest = pick.rng.uniform(-4, 24)
    height = pick.rng.choice((3, 40, 250, 800, 1900, 2600))
    table: Table = {
        "name": name,
        "on": f"2027-{pick.rng.randint(4, 9):02d}-{pick.rng.randint(1, 28):02d}",
        "altitude": f"{height} m" if pick.chance(0.8) else f"{height * 3.281:.0f} ft",
        "coldest": f"{coldest:.0f} degC",
        "hottest": f"{coldest + pick.rng.uniform(4, 40):.0f} degC",
    }
    way = pick.rng.choice(("none", "road", "highest", "air"))
    if way == "air" and pick.may("flights"):
        table["arrive_by"] = "air"
    elif way == "highest":
        table["highest"] = f"{height + pick.rng.randint(50, 900)} m"
    elif way == "road":
        table["arrive_by"] = "road"
    return lines(table)


def build(pick: Picker, name: str, style: str, parts: dict[str, dict[str, Table]]) -> str:
    """Write a build: two ends, read alike on both sides or on each."""
    head: Table = {"car": name}
    if pick.chance(0.85):
        head["event"] = name
    if style == "emulsion":
        head["style"] = style
    bench: Table = {
        "on": f"2027-{pick.rng.randint(3, 8):02d}-{pick.rng.randint(1, 28):02d}",
        "temperature": pick.degrees(8, 30),
        "altitude": f"{pick.rng.choice((5, 60, 420, 1200))} m",
    }
    found = f"{lines(head)}\n[bench]\n{lines(bench)}"
    for end in ("front", "rear"):
        table: Table = {
            "piston": f"piston-{pick.rng.randrange(6)}",
            "oil": pick.rng.choice(sorted(parts["oil"])),
            "spring": f"spring-{pick.rng.randrange(6)}",
            "limiter": pick.size(0, 3, False),
            "collar": pick.size(0, 6, False),
            "runtime": pick.figure(0, 14, "h"),
            "done": pick.rng.sample(STEPS, pick.rng.randint(3, 6)),
        }
        table = pick.some(table, ("spring", "limiter", "collar", "runtime", "done"))
        wide = 4 if pick.chance(0.15) else 0.4
        base = {
            "hold_back": pick.rng.choice((0, 0.2, 3, 6.4, 9.5, 14)),
            "length": 104,
            "rebound": pick.rng.choice((0, 45, 55, 62, 75, 98)),
            "air": 0.5 if style == "emulsion" else 0.05,
        }
        needed = "air" if style == "emulsion" else "hold_back"
        keys = [key for key in base if key == needed or pick.chance(0.67)]

        def read(key: str, base: dict[str, float] = base, wide: float = wide) -> str:
            """Read one thing on one damper, a little off its neighbour."""
            value = base[key] + pick.rng.uniform(0, wide) * {"rebound": 5, "air": 0.1}.get(key, 1)
            if key == "rebound":
                return f"{min(100, value):.0f} %"
            return f"{value:.2f} ml" if key == "air" else f"{value:.1f} mm"

        if pick.chance(0.5):
            table |= {key: read(key) for key in keys}
        else:
            table |= {side: {key: read(key) for key in keys} for side in ("left", "right")}
        found += f"\n[{end}]\n{lines(table)}"
    return found
