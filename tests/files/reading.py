"""A sound build as text, and what is told of a file, each fault with its place."""

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


def told(folder: Path, text: str, kind: str = "build") -> list[Told]:
    return placed(read_bytes(folder, text.encode(), kind))


def swapped(old: str, new: str) -> str:
    assert old in BUILD
    return BUILD.replace(old, new, 1)
