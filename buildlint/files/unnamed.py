"""TOML files whose name says nothing of a kind: which of them hold what is ours all the same.

Other tools' files are told apart by their keys. Most of them are not even parsed.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import tomli

from buildlint.files.disk import bytes_of
from buildlint.files.fault import Fault
from buildlint.files.models import KINDS, CarEnd, Event
from buildlint.files.names import is_ours, like_toml
from buildlint.files.part_models import PART_KINDS
from buildlint.files.reader import unfit
from buildlint.files.settings import SETTINGS
from buildlint.files.tables import fields_of, table_in
from buildlint.text.words import nearest

__all__ = ["HOLDS", "kind_held", "kind_of_table", "may_hold", "name_for"]

#: What a file of each kind holds, in words.
HOLDS = {"build": "a build", "car": "a car", "event": "an event", "parts": "drawers"}

# A line that begins like one of ours: what has none is not parsed.
_LIKE_OURS = (
    rb"""(?m)^[ \t]*(?:\[[ \t]*)?["']?(?:car|coldest|front|rear|"""
    + "|".join(PART_KINDS).encode()
    + rb""")["'.=\]\s]"""
)

# What only a part of that kind would have: others have a length, a label or a note too.
_TELLING = {
    "body": ("bore", "stroke"),
    "shaft": ("diameter",),
    "piston": ("diameter", "thickness", "holes"),
    "bladder": ("into_body", "into_cap", "cup"),
    "oil": ("viscosity", "blend"),
    "spring": ("rate", "wire", "free_length"),
}


def may_hold(name: str) -> bool:
    """Say whether a file may hold what is ours, though its name says no kind, nor nearly one.

    >>> may_hold("teal-hill.toml"), may_hold("teal-hill.build.tml"), may_hold(".teal.toml")
    (True, True, False)
    >>> may_hold("teal-hill.build.toml"), may_hold("buildlint.toml"), may_hold("notes.txt")
    (False, False, False)
    """
    return like_toml(name) and not name.startswith(".") and name != SETTINGS and not is_ours(name)


def kind_held(path: Path, root: Path) -> str | None:
    """Give the kind of what a file holds; None for what is not clearly ours, or cannot be read."""
    try:
        if path.is_symlink():
            return None
        data = bytes_of(path, "", root, {})
    except OSError:
        return None
    if isinstance(data, Fault) or not re.search(_LIKE_OURS, data):
        return None
    try:
        text = data.decode("utf-8-sig")
        return kind_of_table(tomli.loads(text)) if unfit(text) is None else None
    except (ValueError, RecursionError, OverflowError):
        return None  # whose mistake it is, nobody knows


def kind_of_table(table: dict[str, Any]) -> str | None:
    """Give the kind of file that a table clearly is, or None.

    >>> kind_of_table({"car": "heron", "front": {}, "rear": {}})
    'build'
    >>> kind_of_table({"package": {"name": "heron"}, "lib": {"path": "front"}}) is None
    True
    """
    ends = [table[end] for end in ("front", "rear") if isinstance(table.get(end), dict)]
    if isinstance(table.get("car"), str) and (ends or isinstance(table.get("bench"), dict)):
        return "build"
    fitted = {key for end in ends for key in end} & set(fields_of(CarEnd))
    if isinstance(table.get("name"), str) and len(fitted) >= 2:
        return "car"
    events = set(fields_of(Event))
    if {"coldest", "hottest"} <= set(table) and len(events & set(table)) > len(table) / 2:
        return "event" if isinstance(table["coldest"], str) else None
    return "parts" if any(_are_parts(kind, table.get(kind)) for kind in PART_KINDS) else None


def _are_parts(kind: str, tables: Any) -> bool:
    """Say whether these are clearly parts of a kind: most keys ours, a telling one as ours is."""
    if not isinstance(tables, dict):
        return False
    ours = set(fields_of(table_in(fields_of(KINDS["parts"])[kind].takes)["each"]))
    parts = [part for part in tables.values() if isinstance(part, dict)]
    keys = [key for part in parts for key in part]
    if len([key for key in keys if key in ours]) <= len(keys) / 2:
        return False
    return any(isinstance(part.get(key), (str, dict)) for part in parts for key in _TELLING[kind])


def name_for(name: str, kind: str) -> str:
    """Give the name that a file should have, of which it is known what kind it holds.

    >>> name_for("teal-hill.toml", "build"), name_for("teal-hill.build.tml", "build")
    ('teal-hill.build.toml', 'teal-hill.build.toml')
    >>> name_for("drawers.toml", "parts"), name_for("car.toml", "car")
    ('drawers.parts.toml', 'NAME.car.toml')
    """
    stem = name.removesuffix(".txt").rpartition(".")[0]
    ident, _, last = stem.rpartition(".")
    folded = last.casefold()
    if folded in KINDS or (ident and nearest(folded, KINDS, 0.78)):
        return f"{ident or 'NAME'}.{kind}.toml"
    return f"{stem}.{kind}.toml"
