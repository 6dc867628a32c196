"""A small sound repository as text, and what is told of all its files. Invented."""

from pathlib import Path

from buildlint.files.reader import FileRead
from buildlint.team import Team
from tests.files.reading import placed

BUILD = """\
car = "heron"
event = "quarry"
[bench]
on = 2027-06-05
temperature = "16 degC"
altitude = "5 m"
[front]
piston = "four"
oil = "thin"
hold_back = "6 mm"
[rear]
piston = "four"
oil = "thin"
hold_back = "6 mm"
"""
CAR = """\
name = "Heron"
[front]
body = "long"
shaft = "slim"
[rear]
body = "long"
shaft = "slim"
"""
EVENT = """\
name = "Quarry Six-Hour"
on = 2027-06-12
altitude = "1900 m"
coldest = "14 degC"
hottest = "38 degC"
"""
METAL = """\
[body.long]
bore = "16 mm"
stroke = "28 mm"
length = "52 mm"
[shaft.slim]
diameter = "3.5 mm"
[piston.four]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.8 mm"
"""
OILS = """\
[oil.thin]
viscosity = "350 cSt"
[oil.thick]
viscosity = "600 cSt"
"""
FILES = {
    "buildlint.toml": "",
    "builds/heron-quarry.build.toml": BUILD,
    "cars/heron.car.toml": CAR,
    "events/quarry.event.toml": EVENT,
    "drawers/metal.parts.toml": METAL,
    "shelf/deep/oils.parts.toml": OILS,
}

Told = tuple[str, str, int, int, int, str]


def write(root: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


def read_all(team: Team) -> list[FileRead]:
    for kind in ("parts", "car", "event", "build"):
        for path in team.paths(kind):
            team.file(path)
    team.parts()
    return team.files_read()


def told(team: Team) -> list[Told]:
    """Every fault of every file with its place, sorted by file."""
    out: list[Told] = []
    for found in read_all(team):
        out += [(team.relative(found.path), *fault) for fault in placed(found)]
    return sorted(out)
