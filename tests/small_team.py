"""A small sound repository as text, and what is told of all its files. Invented."""

from pathlib import Path

from buildlint.files.reader import FileRead
from buildlint.team.repository import Team
from tests.files.reading import CAR, EVENT, METAL, placed, swapped

BUILD = swapped('car = "heron"\n', 'car = "heron"\nevent = "quarry"\n')
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
    return list(team._read.values())


def told(team: Team) -> list[Told]:
    """Every fault of every file with its place, sorted by file."""
    out: list[Told] = []
    for found in read_all(team):
        out += [(team.relative(found.path), *fault) for fault in placed(found)]
    return sorted(out)
