"""Sound files as text, and what is told of a file, each fault with its place."""

from pathlib import Path

from buildlint.files.places import START, Places
from buildlint.files.reader import FileRead, read_file

BUILD = """\
car = "heron"
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
PARTS = (
    METAL
    + """\
[bladder.deep]
into_body = "370 mm^3"
into_cap = "460 mm^3"
[bladder.flat]
cup.radius = "6.5 mm"
cup.depth = "4 mm"
[oil.thin]
viscosity = "350 cSt"
[oil.mixed]
blend = { thin = "60 %", other = "40 %" }
[oil.two]
viscosity = "450 cSt"
second.viscosity = "190 cSt"
second.at = "60 degC"
[spring.soft]
rate = "0.82 N/mm"
[spring.counted]
wire = "1.5 mm"
mean_diameter = "20.5 mm"
coils = "7"
"""
)
SOUND = {"build": BUILD, "car": CAR, "event": EVENT, "parts": PARTS}

Told = tuple[str, int, int, int, str]


def read_bytes(folder: Path, data: bytes, kind: str = "build") -> FileRead:
    path = folder / f"x.{kind}.toml"
    path.write_bytes(data)
    return read_file(path, kind, "x", folder)


def placed(found: FileRead) -> list[Told]:
    places = Places(found.data, found.mended)
    out = []
    for fault in found.faults:
        at = fault.place or START
        if fault.place is None and fault.path:
            at = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
        out.append((fault.rule, *at, fault.message))
    return sorted(out, key=lambda t: t[1:])


def read_text(folder: Path, text: str, kind: str = "build") -> FileRead:
    return read_bytes(folder, text.encode(), kind)


def told(folder: Path, text: str, kind: str = "build") -> list[Told]:
    return placed(read_bytes(folder, text.encode(), kind))


def swapped(old: str, new: str) -> str:
    assert old in BUILD
    return BUILD.replace(old, new, 1)
