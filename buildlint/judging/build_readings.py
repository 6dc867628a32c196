"""What stands in the files of a build: the readings that its dampers come to have, as written."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from buildlint.files.holes import Holes
from buildlint.files.models import Build, Corner
from buildlint.files.oil_model import STATED_AT
from buildlint.files.part_models import PART_KINDS
from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.tables import Table, fields_of, nothing_of
from buildlint.measures.damper import CORNERS
from buildlint.team.repository import Team

__all__ = ["UNREADABLE", "BuildReadings", "Found", "Stands"]

#: What stands for a reading that was given, but on a line that cannot be read.
UNREADABLE = "what cannot be read"

_NOTHING = Reading(0.0, 0.0, 0.0, "", "")


class Stands(NamedTuple):
    """What stands in a file: its text, what it means, in which file; the text None if left out."""

    text: str | None
    means: Any
    path: Path


#: By what it is of (a corner, "bench", an end of the car, nothing), and its key.
Found = dict[tuple[str, str], Stands]


class BuildReadings:
    """One build with its team: what stands in its files."""

    def __init__(self, team: Team, file: FileRead) -> None:
        self.team = team
        self.file = file
        self.build = file.model if isinstance(file.model, Build) else nothing_of(Build)
        self.car, self.car_file = team.car_of(self.build)
        self.event, self.event_file = team.event_of(self.build)

    def top(self) -> Found:
        """What stands at the top of the build's file and on its bench."""
        found = {
            ("", key): stands
            for key, stands in _in_table(self.file, self.build, ("car", "event", "style", "note"))
        }
        bench = _in_table(self.file, self.build.bench, None, ("bench",))
        return found | {("bench", key): stands for key, stands in bench}

    def corners(self) -> Found:
        """What is in each damper: what its corner says, else its end, else the car."""
        found: Found = {}
        for end, side in CORNERS:
            table = getattr(self.build, end)
            if table is None:
                continue
            layers = [
                (getattr(table, side), self.file, (end, side)),
                (table, self.file, (end,)),
                (getattr(self.car, end, None), self.car_file, (end,)),
            ]
            for key in fields_of(Corner):
                stands = _layered(layers, key, self.build.style) if key != "note" else None
                if stands is not None:
                    found[f"{end}.{side}", key] = stands
        return found

    def notes(self) -> Found:
        """The notes of ends and corners, each for itself."""
        found: Found = {}
        for end in ("front", "rear"):
            for way in ((end,), (end, "left"), (end, "right")):
                table: Any = self.build
                for name in way:
                    table = getattr(table, name, None)
                for key, stands in _in_table(self.file, table, ("note",), way):
                    found[".".join(way), key] = stands
        return found

    def named(self, kind: str) -> Found | None:
        """What stands in the car or event; None where there is none that can be read."""
        table, file = (self.car, self.car_file) if kind == "car" else (self.event, self.event_file)
        if table is None or file is None:
            return None
        found: Found = {}
        for key, stands in _in_table(file, table, None):
            *above, last = key.split(" ")
            # the parts of a car are told with the dampers that they are in
            if last not in PART_KINDS:
                found[" ".join(above), last] = stands
        return found

    def parts(self) -> list[tuple[str, str]]:
        """The parts in the dampers, and the oils that those are blended of, by kind and id."""
        fitted = {(key, stands.text or ""): None for (_, key), stands in self.corners().items()}
        kinds = [k for k in PART_KINDS if k != "bladder" or self.build.style == "bladder"]
        wanted = [part for kind in kinds for part in fitted if part[0] == kind]
        seen = set(wanted)
        for kind, ident in wanted:
            part = self.team.part(kind, ident)
            blend = getattr(part.table, "blend", None) if part is not None else None
            more = [(kind, other) for other in blend or () if (kind, other) not in seen]
            wanted += more
            seen.update(more)
        return wanted

    def part(self, kind: str, ident: str) -> Found | None:
        """What stands in the drawers of a part; None where it is not there."""
        part = self.team.part(kind, ident)
        if part is None:
            return None
        return {("", key): s for key, s in _in_table(part.file, part.table, None, (kind, ident))}


def _layered(
    layers: Iterable[tuple[Any, FileRead | None, tuple[str, ...]]], key: str, style: str
) -> Stands | None:
    file: FileRead | None = None
    for table, of, keys in layers:
        if of is None:
            continue
        file = file or of
        stands = _stands(of, getattr(table, key, None), (*keys, key))
        if stands is not None:
            return stands
    if file is not None and (key == "limiter" or (key == "air" and style == "bladder")):
        return Stands(None, ((1, _NOTHING),), file.path)  # none is none
    return None


def _in_table(
    file: FileRead, table: Any, only: tuple[str, ...] | None, keys: tuple[str, ...] = ()
) -> Iterator[tuple[str, Stands]]:
    """Give what stands in a table and in those inside it; their keys in words."""
    if not isinstance(table, Table):
        return
    for name, field in fields_of(type(table)).items():
        key = field.key
        here = (*keys, key)
        value = getattr(table, name)
        if only is not None and key not in only:
            continue
        if isinstance(value, Table):
            for inside, found in _in_table(file, value, None, here):
                yield f"{key} {inside}", found
        elif isinstance(value, dict):
            for ident in {**value, **{p[-1]: 0 for p in file.refused if p[:-1] == here}}:
                shared = _stands(file, value.get(ident), (*here, ident))
                if shared is not None:
                    yield f"{key} {ident}", shared
        else:
            stands = _stands(file, value, here)
            if stands is None and here[0] == "oil" and here[2:] == ("at",):
                stands = Stands(None, ((1, STATED_AT),), file.path)
            if stands is not None and name not in table.given:
                stands = stands._replace(text=stands.text if here in file.refused else None)
            if stands is not None:
                yield key, stands


def _stands(file: FileRead, value: Any, keys: tuple[str, ...]) -> Stands | None:
    if keys in file.refused:
        text = _refused(file, keys)
        return Stands(text, text, file.path)
    if value is None:
        return None
    if isinstance(value, Reading):
        return Stands(value.text, ((1, value),), file.path)
    if isinstance(value, Holes):
        return Stands(value.text, value.groups, file.path)
    if isinstance(value, list):
        return Stands(", ".join(value), frozenset(value), file.path)
    text = value.isoformat() if isinstance(value, datetime.date) else str(value)
    return Stands(text, text, file.path)


def _refused(file: FileRead, keys: tuple[str, ...]) -> str:
    """Give what was given for a key and refused, as it stands in the file."""
    import tomli

    try:
        found: Any = tomli.loads(file.data.decode("utf-8-sig"))
        for key in keys:
            found = found[key]
    except (ValueError, RecursionError, KeyError, TypeError, IndexError):
        return UNREADABLE
    return str(found)
