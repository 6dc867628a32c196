"""Make a season of builds, from a seed. Everything in it is invented.

`python tests/bench/season.py FOLDER BUILDS` writes a tidy one, over thirty cars: every reading is
there, the drawers state their tolerances, and one build in twenty has a finding.
With `--as-people-write` no tolerance is written, a third of the readings is forgotten, some are in
inches, and the room in the bladders is used to 60 to 97 %. With `--failing` the same, and every
build fails a must.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Iterable
from fractions import Fraction
from math import pi
from pathlib import Path
from typing import NamedTuple

__all__ = ["CARS", "failing", "season", "season_as_people_write"]

CARS = 30
EVENTS = 8
_STEPS = '["deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked"]'


def season(folder: Path, builds: int, seed: int = 1) -> None:
    """Write a team with thirty cars, eight events, its drawers, and so many builds."""
    chance = random.Random(seed)
    cars = [_car(number, chance) for number in range(CARS)]
    events = [_event(number, chance) for number in range(EVENTS)]
    _write(folder, _drawers(), cars, events, (_build(n, chance) for n in range(builds)))


def _write(
    folder: Path, drawers: str, cars: list[str], events: list[str], builds: Iterable[str]
) -> None:
    files = {"buildlint.toml": "", "drawers.parts.toml": drawers}
    files |= {f"cars/car-{n:02}.car.toml": text for n, text in enumerate(cars)}
    files |= {f"events/round-{n}.event.toml": text for n, text in enumerate(events)}
    for number, text in enumerate(builds):
        files[f"builds/{number // 1000:02}/set-{number:05}.build.toml"] = text
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def _drawers() -> str:
    def each(n: int) -> str:
        thin = round((400 + 20 * n) * 0.48)
        return (
            f'[body.front-{n}]\nbore = "16 mm"\nstroke = "{28 + 0.2 * n:.1f} mm"\n'
            f'length = "{52 + 0.2 * n:.1f} mm"\noil = "{9.1 + 0.05 * n:.2f} ml ± 2 %"\n'
            f'piston = "15.9 mm"\n'
            f'[body.rear-{n}]\nbore = "16 mm"\nstroke = "{32 + 0.2 * n:.1f} mm"\n'
            f'length = "{59 + 0.2 * n:.1f} mm"\noil = "{10.4 + 0.05 * n:.2f} ml ± 2 %"\n'
            f'piston = "15.9 mm"\n'
            f'[piston.four-{n}]\ndiameter = "15.9 mm"\nthickness = "2.5 mm"\n'
            f'holes = "4 x {1.70 + 0.02 * n:.2f} mm ± 0.005 mm"\n'
            f'[bladder.deep-{n}]\ninto_body = "{480 + 4 * n} mm^3 ± 3 %"\n'
            f'into_cap = "{520 + 4 * n} mm^3 ± 3 %"\n'
            f'[oil.o{400 + 20 * n}]\nviscosity = "{400 + 20 * n} cSt ± 2 %"\n'
            f'second = {{ viscosity = "{thin} cSt ± 2 %", at = "60 degC" }}\n'
            f'[spring.s{n}]\nrate = "{0.78 + 0.02 * n:.2f} N/mm ± 2 %"\nfree_length = "70 mm"\n'
            f'solid_length = "24 mm"\n'
        )

    return "\n".join([*map(each, range(6)), '[shaft.s35]\ndiameter = "3.5 mm"\n'])


def _car(number: int, chance: random.Random) -> str:
    def end(name: str) -> str:
        return (
            f'[{name}]\nbody = "{name}-{chance.randrange(6)}"\nshaft = "s35"\n'
            f'bladder = "deep-{chance.randrange(6)}"\n'
            f'corner_mass = "{chance.randint(760, 860)} g ± 2 %"\n'
            f'motion_ratio = "{chance.uniform(0.64, 0.70):.2f} ± 1 %"\nseat_gap = "70 mm"\n'
        )

    return f'name = "Car {number}"\nclass = "eighth-scale buggy"\n{end("front")}{end("rear")}'


def _event(number: int, chance: random.Random) -> str:
    cold = chance.randint(14, 18)
    return (
        f'name = "Round {number}"\non = 2027-{number + 3:02}-20\n'
        f'altitude = "{chance.randint(0, 1200)} m"\ncoldest = "{cold} degC"\n'
        f'hottest = "{cold + chance.randint(6, 12)} degC"\n'
    )


def _build(number: int, chance: random.Random) -> str:
    event = chance.randrange(EVENTS)
    # one build in twenty is not right
    fault = chance.choice(["length", "hold_back", "rebound"]) if number % 20 == 7 else ""
    lines = [
        f'car = "car-{chance.randrange(CARS):02}"',
        f'event = "round-{event}"',
        "[bench]",
        f"on = 2027-{event + 3:02}-{chance.randint(1, 15):02}",
        f'temperature = "{chance.randint(16, 22)} degC"',
        f'altitude = "{chance.randint(0, 60)} m"',
        'by = "first bench"',
    ]
    for end in ("front", "rear"):
        piston, oil, spring = (chance.randrange(6) for _ in range(3))
        lines += [
            f"[{end}]",
            f'piston = "four-{piston}"',
            f'oil = "o{400 + 20 * oil}"',
            f'spring = "s{spring}"',
        ]
        hold_back = chance.uniform(6.2, 7.0) if end == "front" else chance.uniform(8.6, 9.4)
        length = chance.uniform(104, 106) if end == "front" else chance.uniform(118, 120)
        rebound, collar = chance.uniform(52, 66), chance.uniform(1.0, 2.0)
        runtime = chance.randint(0, 8)
        for side in ("left", "right"):
            off = fault if (end, side) == ("front", "right") else ""
            lines += [
                f"[{end}.{side}]",
                f'hold_back = "{hold_back + (4 if off == "hold_back" else 0.1):.1f} mm"',
                f'length = "{length + (2 if off == "length" else 0.1):.1f} mm"',
                f'rebound = "{rebound + (20 if off == "rebound" else 1):.0f} %"',
                f'collar = "{collar:.1f} mm"',
                'limiter = "0 mm"',
                f'runtime = "{runtime} h"',
                f'label = "o{400 + 20 * oil} four-{piston}"',
                f"done = {_STEPS}",
                f'note = "read by hand with the digital caliper, bench lamp on, set {number}"',
            ]
    return "\n".join(lines) + "\n"


# --- as people write ------------------------------------------------------------------------------


class _Body(NamedTuple):
    """A body and what belongs with it; lengths in mm, the mass on the wheel in g."""

    name: str
    bore: float
    shaft: float
    stroke: float
    length: float
    hold_back: float
    mass: float

    @property
    def oil(self) -> float:
        """The oil at filling (mm^3)."""
        return self.length * pi * self.bore**2 / 4 * 0.9


_BODIES = {
    "buggy": (
        _Body("buggy-front", 16, 3.5, 28, 52, 6.4, 800),
        _Body("buggy-rear", 16, 3.5, 34, 61, 9.5, 950),
    ),
    "truggy": (
        _Body("truggy-front", 16, 3.5, 32, 55, 7, 880),
        _Body("truggy-rear", 16, 3.5, 38, 66, 10, 1050),
    ),
    "truck": (
        _Body("truck-front", 13, 3, 20, 42, 2, 540),
        _Body("truck-rear", 13, 3, 26, 50, 6, 640),
    ),
}
_OILS = (350, 400, 450, 500, 550)
_HOLES = {16: (1.6, 1.7, 1.8), 13: (1.3, 1.4, 1.5)}
_REMARKS = ("with the small ruler", "again after lunch", "the old one leaked", "as last year")
# Two with their rooms measured; one with only a cup, or nothing.
_BLADDERS = ("soft", "firm", "spare")
# Oil moves by so much of itself for each kelvin, next to a body of aluminium.
_GROWTH = 8.9e-4
# So far is the oil of most days from the bench's (K): what bladders are chosen by.
_WARMER = 8.0
# Of what may be left out, so much is noted down.
_KEPT = 2 / 3


def season_as_people_write(
    folder: Path, builds: int, seed: int = 1, *, all_fail: bool = False
) -> None:
    """Write a team with six to thirty cars, and so many builds as people note them down."""
    chance = random.Random(seed)
    drawers = _plain_drawers(chance)
    kinds = [chance.choice(list(_BODIES)) for _ in range(chance.randint(6, CARS))]
    bladders = [chance.choices(_BLADDERS, (2, 2, 1), k=2) for _ in kinds]
    cars = [_plain_car(n, kinds[n], bladders[n], chance) for n in range(len(kinds))]
    days = [(low := chance.randint(9, 16), low + chance.randint(9, 13)) for _ in range(EVENTS)]
    events = [_plain_event(n, day, chance) for n, day in enumerate(days)]

    def build(number: int) -> str:
        car, event = chance.randrange(len(kinds)), chance.randrange(EVENTS)
        fault = ""
        if all_fail or number % 20 == 7:
            measured = bladders[car][0] != "spare"
            fault = "hold_back" if measured and chance.random() < 0.5 else "unlike"
        return _plain_build(car, kinds[car], event, sum(days[event]) / 2, fault, chance)

    _write(folder, drawers, cars, events, map(build, range(builds)))


def failing(folder: Path, builds: int, seed: int = 1) -> None:
    """Write a season as people write it, of which every build fails a must."""
    season_as_people_write(folder, builds, seed, all_fail=True)


def _kept(chance: random.Random, *lines: str) -> list[str]:
    """Give the lines that were not forgotten, some with a remark."""
    kept = [line for line in lines if chance.random() < _KEPT]
    return [
        f"{line}  # {chance.choice(_REMARKS)}" if chance.random() < 0.05 else line for line in kept
    ]


def _length(mm: float, chance: random.Random, *, fine: bool = False) -> str:
    """Write a length as one of several people would; fine: nobody takes a folding rule to it."""
    way = chance.random()
    if way < 0.06 and not fine:
        whole, rest = divmod(Fraction(round(mm / 25.4 * 32), 32), 1)
        return f"{whole or ''} {rest or ''} in".strip().replace("  ", " ")
    if way < 0.12:
        return f"{mm / 25.4:.3f} in"
    if way < 0.18:
        return f"{mm / 0.0254:.0f} thou"
    return f"{mm:.{2 if fine else 1}f} mm"


def _temperature(celsius: float, chance: random.Random) -> str:
    if chance.random() < 0.15:
        return f"{celsius * 1.8 + 32:.0f} degF"
    return f"{celsius:.0f} degC"


def _plain_drawers(chance: random.Random) -> str:
    lines = ["# what we have, counted in the winter; all of it invented"]
    for ends in _BODIES.values():
        for body in ends:
            lines += _plain_body(body, chance)
    for bore, sizes in _HOLES.items():
        for size in sizes:
            lines += [
                f"[piston.four-{size * 10:.0f}]",
                f'diameter = "{bore - 0.1} mm"',
                f'thickness = "{_length(2.5, chance, fine=True)}"',
                f'holes = "4 x {_length(size, chance, fine=True)}"',
            ]
    for oil in _OILS:
        lines += [f"[oil.o{oil}]", f'viscosity = "{oil} cSt"']
        second = f'{{ viscosity = "{oil * 0.47:.0f} cSt", at = "60 degC" }}'
        lines += _kept(chance, f"second = {second}")
    lines += ['[shaft.s35]\ndiameter = "3.5 mm"', '[shaft.s30]\ndiameter = "3 mm"']
    return "\n".join(lines) + "\n"


def _plain_body(body: _Body, chance: random.Random) -> list[str]:
    """Give a body, and the bladders and springs that go with it."""
    lines = [
        f"[body.{body.name}]",
        f'bore = "{body.bore} mm"',
        f'stroke = "{_length(body.stroke, chance, fine=True)}"',
        f'length = "{_length(body.length, chance)}"',
        *_kept(chance, f'oil = "{body.oil / 1000:.1f} ml"', f'piston = "{body.bore - 0.1} mm"'),
    ]
    area, swing = pi * body.shaft**2 / 4, body.oil * _GROWTH * _WARMER
    # a shaft that comes back by half has pushed the bladder as far as that into the cap
    into_cap = area * 0.6 * body.stroke + swing
    into_body = area * (body.stroke - body.hold_back + 0.5) + swing
    for name in _BLADDERS:
        lines += [f"[bladder.{body.name}-{name}]"]
        used = chance.uniform(0.9, 0.97)
        if name != "spare":
            lines += [
                f'into_body = "{into_body / used:.0f} mm^3"',
                f'into_cap = "{into_cap / used:.0f} mm^3"',
            ]
        elif chance.random() < 0.5:
            radius = body.bore / 2 - 1
            depth = 2 * into_body / used / (0.8 * pi * radius**2)
            lines += [f'cup = {{ radius = "{radius} mm", depth = "{depth:.1f} mm" }}']
        else:
            lines += ['note = "nobody has measured it"']
    for name, share in (("light", 0.46), ("heavy", 0.4)):
        rate = body.mass * 9.81e-3 / 0.66 / (share * body.stroke)
        pounds = chance.random() < 0.3
        lines += [
            f"[spring.{body.name}-{name}]",
            f'rate = "{rate / 0.175127:.1f} lb/in"' if pounds else f'rate = "{rate:.2f} N/mm"',
            f'free_length = "{_length(2.5 * body.stroke, chance)}"',
            *_kept(chance, f'solid_length = "{_length(0.85 * body.stroke, chance)}"'),
        ]
    return lines


def _plain_car(number: int, kind: str, bladders: list[str], chance: random.Random) -> str:
    lines = [f'name = "Car {number}"', *_kept(chance, f'class = "{kind}"')]
    for end, body, bladder in zip(("front", "rear"), _BODIES[kind], bladders, strict=True):
        lines += [
            f"[{end}]",
            f'body = "{body.name}"',
            f'shaft = "s{body.shaft * 10:.0f}"',
            f'bladder = "{body.name}-{bladder}"',
            *_kept(
                chance,
                f'corner_mass = "{body.mass * chance.uniform(0.96, 1.04):.0f} g"',
                f'motion_ratio = "{chance.uniform(0.64, 0.68):.2f}"',
                f'seat_gap = "{_length(2.5 * body.stroke, chance)}"',
            ),
        ]
    return "\n".join(lines) + "\n"


def _plain_event(number: int, day: tuple[int, int], chance: random.Random) -> str:
    return (
        f'name = "Round {number}"\non = 2027-{number + 3:02}-20\n'
        f'altitude = "{chance.randint(0, 900)} m"\ncoldest = "{_temperature(day[0], chance)}"\n'
        f'hottest = "{_temperature(day[1], chance)}"  # by the forecast\n'
    )


def _plain_build(
    car: int, kind: str, event: int, middle: float, fault: str, chance: random.Random
) -> str:
    lines = [f"# {chance.choice(_REMARKS)}"] if chance.random() < 0.3 else []
    lines += [f'car = "car-{car:02}"']
    if chance.random() > 0.06:
        lines += [f'event = "round-{event}"']
    lines += [
        "[bench]",
        f"on = 2027-{event + 3:02}-{chance.randint(1, 15):02}",
        f'temperature = "{_temperature(middle + chance.uniform(-1.5, 1.5), chance)}"',
        f'altitude = "{chance.randint(0, 60)} m"',
        *_kept(chance, 'by = "second bench"'),
    ]
    for end, body in zip(("front", "rear"), _BODIES[kind], strict=True):
        lines += _plain_end(end, body, fault if end == "front" else "", chance)
    return "\n".join(lines) + "\n"


def _plain_end(end: str, body: _Body, fault: str, chance: random.Random) -> list[str]:
    oil, size = chance.choice(_OILS), chance.choice(_HOLES[int(body.bore)])
    hold_back = body.hold_back + chance.uniform(-0.4, 0.4)
    if fault == "hold_back":
        hold_back = 0.85 * body.stroke
    length, rebound = 2 * body.length + chance.uniform(-1, 1), chance.randint(44, 56)
    lines = [
        f"[{end}]",
        f'piston = "four-{size * 10:.0f}"',
        f'oil = "o{oil}"',
        *_kept(
            chance,
            f'spring = "{body.name}-{chance.choice(("light", "heavy"))}"',
            f'collar = "{_length(chance.uniform(1, 3), chance)}"',
            f'runtime = "{chance.randint(0, 8)} h"',
            f'label = "o{oil} four-{size * 10:.0f}"',
            f"done = {_STEPS}",
        ),
    ]
    if fault != "unlike" and chance.random() < 0.8:
        return [
            *lines,
            f'hold_back = "{_length(hold_back, chance)}"',
            *_kept(chance, f'length = "{_length(length, chance)}"', f'rebound = "{rebound} %"'),
        ]
    for side in ("left", "right"):
        more = 3.0 if (fault, side) == ("unlike", "right") else chance.uniform(0, 0.2)
        lines += [
            f"[{end}.{side}]",
            f'hold_back = "{_length(hold_back + more, chance, fine=True)}"',
            *_kept(
                chance,
                f'length = "{_length(length + chance.uniform(0, 0.2), chance, fine=True)}"',
                f'rebound = "{rebound + chance.randint(0, 3)} %"',
            ),
        ]
    return lines


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Make a season of builds.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("builds", type=int)
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument(
        "--as-people-write", dest="write", action="store_const", const=season_as_people_write
    )
    kind.add_argument("--failing", dest="write", action="store_const", const=failing)
    chosen = parser.parse_args()
    (chosen.write or season)(chosen.folder, chosen.builds)
