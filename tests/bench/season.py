"""Makes a season: builds over thirty cars, from a seed. Everything in it is invented.

`python tests/bench/season.py FOLDER BUILDS` writes one. One build in twenty has a finding.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

__all__ = ["CARS", "season"]

CARS = 30
EVENTS = 8
_STEPS = '["deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked"]'


def season(folder: Path, builds: int, seed: int = 1) -> None:
    """Write a team with thirty cars, eight events, its drawers, and so many builds."""
    chance = random.Random(seed)
    for name in ("cars", "events", "builds"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    (folder / "buildlint.toml").write_text("", encoding="utf-8")
    (folder / "drawers.parts.toml").write_text(_drawers(), encoding="utf-8")
    for number in range(CARS):
        text = _car(number, chance)
        (folder / "cars" / f"car-{number:02}.car.toml").write_text(text, encoding="utf-8")
    for number in range(EVENTS):
        text = _event(number, chance)
        (folder / "events" / f"round-{number}.event.toml").write_text(text, encoding="utf-8")
    for number in range(builds):
        text = _build(number, chance)
        path = folder / "builds" / f"{number // 1000:02}" / f"set-{number:05}.build.toml"
        path.parent.mkdir(exist_ok=True)
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


if __name__ == "__main__":
    season(Path(sys.argv[1]), int(sys.argv[2]))
