"""A build carried to another event: what its file says then, as a table and as text."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path
from typing import Any

import tomli

from buildlint.files.edit import edited
from buildlint.files.models import Build, Car, End
from buildlint.files.places import KeyPath
from buildlint.files.readings import Reading, Written, written
from buildlint.judging.adapt_end import Candidate
from buildlint.judging.weigh import READ_WHEN_FINISHED
from buildlint.text.errors import PathError

__all__ = ["Changes", "carried", "changes_for", "schema_seen_from", "text_of"]

#: What the keys of a build's file become; None where one is taken out.
Changes = dict[KeyPath, "str | None"]

_ENDS = ("front", "rear")
_SIDES = ("left", "right")

# What is only read on a finished damper, on each of them.
_READ_LATER = tuple(name for name in READ_WHEN_FINISHED if name != "bench_on")


def changes_for(
    build: Build,
    car: Car | None,
    event: str,
    like: str,
    ends: Mapping[str, Candidate] | None = None,
    bench_temperature: float | None = None,
) -> Changes:
    """Return what makes a plan for another event of a build, both sides alike.

    With nothing for the `ends` it is built as before. `bench_temperature` is in degC.
    """
    changes: Changes = {("event",): event, ("like",): like, ("past",): None, ("bench", "on"): None}
    if bench_temperature is not None:
        changes["bench", "temperature"] = f"{bench_temperature:g} degC"
    for end in _ENDS:
        table: End = getattr(build, end)
        for key in _READ_LATER:
            changes[end, key] = None
            changes |= {(end, side, key): None for side in _SIDES}
        found = ends[end] if ends is not None else None
        if found is not None:
            for kind in ("oil", "piston", "bladder"):
                own, ident = getattr(table, kind), getattr(found, kind)
                of_car = getattr(getattr(car, end, None), kind, None)
                if ident is not None and ident != (own if own is not None else of_car):
                    changes[end, kind] = ident
                if ident is not None:
                    changes |= {(end, side, kind): None for side in _SIDES}
        held = _hold_back(table, found.hold_back if found is not None else None)
        if held is not None:
            changes[end, "hold_back"] = held
            changes |= {(end, side, "hold_back"): None for side in _SIDES}
    return changes


def _hold_back(end: End, new: float | None) -> str | None:
    """Return the hold-back of an end as text: the new one (mm), else the one now for both sides.

    Of two sides with one of their own, and none planned for both, it is the mean, with the wider
    tolerance that is written.
    """
    sides = [getattr(getattr(end, side), "hold_back", None) for side in _SIDES]
    read: list[Reading] = [each for each in sides if each is not None]
    if end.hold_back is not None:
        read = [end.hold_back]
    if not read:
        return None
    now = sum(each.value for each in read) / len(read) * 1e3
    if len(read) == 1 and (new is None or abs(new - now) < 1e-6):
        return read[0].text
    value = round(now, 1) if new is None else new
    given = [each for each in read if written(each.text).tolerance is not None]
    said = written(max(given or read, key=lambda each: each.tolerance).text)
    return str(Written(round(value, 4), "mm", said.tolerance, said.tolerance_unit))


def carried(table: Mapping[str, Any], changes: Changes) -> dict[str, Any]:
    """Return the table of a build's file with its changes; the one that is given stays.

    >>> carried({"front": {"left": {"length": "9 mm"}}}, {("front", "left", "length"): None})
    {'front': {}}
    """
    made = deepcopy(dict(table))
    for (*above, key), value in changes.items():
        inner = made
        for name in above:
            inner = inner.setdefault(name, {}) if value is not None else inner.get(name, {})
        if value is not None:
            inner[key] = value
        else:
            inner.pop(key, None)
    for end in _ENDS:
        for side in _SIDES:
            if made.get(end, {}).get(side) == {}:
                del made[end][side]
    return made


def text_of(text: str, changes: Changes) -> str:
    """Return the text of a build's file with its changes; comments and all else stay.

    Raises PathError for a text that cannot be changed so.
    """
    found = edited(text, changes)
    try:
        if carried(tomli.loads(found), {}) == carried(tomli.loads(text), changes):
            return found
    except tomli.TOMLDecodeError:
        pass
    raise PathError("its tables are laid out so that no plan can be made of it: write it by hand")


# The comment by which an editor finds the schema of a file, where it names one beside it.
_SCHEMA = re.compile(r"\A#:schema (\.{1,2}/\S+)")


def schema_seen_from(text: str, old: Path, new: Path) -> str:
    r"""Return the text of a file that moves, with the schema that its first line names found there.

    >>> schema_seen_from("#:schema ../a.json\n", Path("builds/x"), Path("builds/2028/y"))
    '#:schema ../../a.json\n'
    """

    def moved(found: re.Match[str]) -> str:
        there = os.path.relpath(old.parent / found[1], new.parent)
        path = Path(there).as_posix()
        return f"#:schema {path if path.startswith('.') else f'./{path}'}"

    return _SCHEMA.sub(moved, text)
