"""What was written otherwise: the readings that the dampers of two builds stand on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isclose
from typing import Any, NamedTuple

import tomli

from buildlint.files.holes import Holes
from buildlint.files.models import Build, Corner
from buildlint.files.oil_model import STATED_AT, Oil
from buildlint.files.part_models import PART_KINDS
from buildlint.files.places import KeyPath
from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.tables import Table, fields_of
from buildlint.judging.subjects import both_by_subject
from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin
from buildlint.team.repository import Team
from buildlint.text.words import seen_from_here

__all__ = ["Change", "reading_changes"]

# What stands for a reading that was given, but on a line that cannot be read.
_UNREADABLE = "what cannot be read"

# Readings that have a zero of their own.
_HEIGHTS = ("altitude", "highest")

# What is read of a damper, or fitted in it.
_OF_DAMPER = [key for key in fields_of(Corner) if key != "note"]


@dataclass(frozen=True, slots=True)
class Change:
    """A reading that is not the same in both builds: where it stands, and both texts as written.

    `subject` is "front.left" and the like ("front" where both sides changed alike), "bench", "" for
    the top of the build's file, "car heron front", "event quarry-six-hour", "oil o450"; an event or
    a car that is another one in each build goes without its id. `key` is the key there. A text is
    None where the reading was not given. `kind` is the kind of file that it stands in.

    A change is within tolerance where both are readings, and the value of each lies between the
    least and the most of the other. `ratio` is by what share of the old reading it changed.
    """

    subject: str
    key: str
    old: str | None
    new: str | None
    within_tolerance: bool
    kind: str
    old_file: str | None = None
    new_file: str | None = None
    ratio: float | None = None

    @property
    def where(self) -> str:
        """Where the reading stands, in words: "front.left hold_back"."""
        return f"{self.subject} {self.key}".lstrip()


def reading_changes(
    old: tuple[Team, FileRead, Sequence[Damper]], new: tuple[Team, FileRead, Sequence[Damper]]
) -> tuple[Change, ...]:
    """Return every reading of two builds that differs, in their cars, events and parts too.

    What counts is what a damper comes to have: a reading that is moved from the end's table to
    both sides with the same value is no change, nor is one that is written otherwise and means the
    same, tolerance included. A car or an event is looked into where both builds name one, a part
    where both use it: one that is swapped for another shows where the build or the car names it.
    Changes beyond tolerance come first, notes last of those.
    """
    was, now = old[1].model, new[1].model
    if not (isinstance(was, Build) and isinstance(now, Build)):
        return ()  # the mistakes in the files say so
    there, here = _written(was, *old), _written(now, *new)
    found: list[Change] = []
    for table in (table for table in there if table in here):
        ids = [getattr(build, table, None) for build in (was, now)]
        head = f"{table} {ids[0]}" if ids[0] and ids[0] == ids[1] else table
        for group in {**there[table], **here[table]}:
            both = both_by_subject(there[table].get(group, {}), here[table].get(group, {}))
            for subject, pair in both:
                found += _change(f"{head} {subject}".strip(), group[1], *pair)
    return tuple(sorted(found, key=lambda change: (change.within_tolerance, change.key == "note")))


# --- what is written -----------------------------------------------------------------------------


class _Stands(NamedTuple):
    """What stands in a file: its text, None for a default, and the reading or what else it is."""

    text: str | None
    value: Any
    file: FileRead


# By the end, or what else it is of, and the key; then by the corner, or again what it is of.
_Found = dict[tuple[str, str], dict[str, _Stands]]


def _written(
    build: Build, team: Team, file: FileRead, dampers: Sequence[Damper]
) -> dict[str, _Found]:
    """Return what is written in each table behind a build: "" for its own, "car", "oil o450"."""
    tables: dict[str, tuple[FileRead, Table, KeyPath]] = {"": (file, build, ())}
    for kind, (said, home) in (("car", team.car_of(build)), ("event", team.event_of(build))):
        if said is not None and home is not None:
            tables[kind] = home, said, ()
    wanted = [(kind, getattr(damper, kind)) for kind in PART_KINDS for damper in dampers]
    for kind, ident in wanted:
        part = team.part(kind, ident)
        if part is not None and f"{kind} {ident}" not in tables:
            tables[f"{kind} {ident}"] = part.file, part.table, (kind, ident)
            wanted += [(kind, oil) for oil in getattr(part.table, "blend", None) or ()]
    places: dict[Origin | None, _Stands] = {}
    found: dict[str, _Found] = {}
    for name, (of, table, above) in tables.items():
        found[name] = {}
        for keys, stands in _leaves(of, table, above).items():
            places[Origin(of.path, keys)] = stands
            if keys[0] not in ("front", "rear") or keys[-1] not in _OF_DAMPER:
                at = len(above) or len(keys) - 1
                subject = ".".join(keys[len(above) : at])
                found[name][subject, " ".join(keys[at:])] = {subject: stands}
    for key in _OF_DAMPER:
        for damper in dampers:
            value, here = getattr(damper, key), places.get(damper.origin.get(key))
            if key in damper.refused:
                ways = (damper.end, damper.side, key), (damper.end, key)
                origins = (Origin(of.path, keys) for of, *_ in tables.values() for keys in ways)
                here = next((places[origin] for origin in origins if origin in places), None)
            if here is None and isinstance(value, float):  # no limiter, no air
                here = _Stands(None, Reading(value, value, value, "", ""), file)
            if here is not None:
                found[""].setdefault((damper.end, key), {})[damper.corner] = here
    return found


def _leaves(file: FileRead, table: Table, above: KeyPath) -> dict[KeyPath, _Stands]:
    """Return what a table of a file says and its defaults, what was refused as it was given."""
    found: dict[KeyPath, _Stands] = {}

    def take(value: Any, keys: KeyPath, given: bool) -> None:
        if isinstance(value, Table):
            for name, field in fields_of(type(value)).items():
                inside = getattr(value, name)
                if inside is None and name == "at" and isinstance(value, Oil):
                    inside = STATED_AT
                take(inside, (*keys, field.key), name in value.given)
        elif isinstance(value, dict):
            for key, inside in value.items():
                take(inside, (*keys, key), True)
        elif value is not None:
            text = ", ".join(value) if isinstance(value, list) else getattr(value, "text", value)
            found[keys] = _Stands(str(text) if given else None, value, file)

    take(table, above, True)
    refused = sorted(keys for keys in file.refused if keys[: len(above)] == above != keys)
    try:
        raw = tomli.loads(file.data.decode("utf-8-sig")) if refused else {}
    except (ValueError, RecursionError):
        raw = {}
    for keys in refused:
        given: Any = raw
        for key in keys:
            given = given.get(key) if isinstance(given, dict) else None
        text = str(given) if given is not None else _UNREADABLE
        found[keys] = _Stands(text, text, file)
    return found


# --- what differs --------------------------------------------------------------------------------


def _change(subject: str, key: str, was: _Stands | None, now: _Stands | None) -> Iterator[Change]:
    old, new = (s if s is not None and s.text is not None else None for s in (was, now))
    told = new or old
    same, within = _compared(was, now) if was is not None and now is not None else (False, False)
    if told is not None and not same:
        old_text, new_text = (s.text if s is not None else None for s in (old, new))
        old_file, new_file = (
            seen_from_here(s.file.path) if s is not None else None for s in (old, new)
        )
        ratio = _ratio(key, old.value, new.value) if old is not None and new is not None else None
        kind = told.file.kind
        yield Change(subject, key, old_text, new_text, within, kind, old_file, new_file, ratio)


def _ratio(key: str, old: Any, new: Any) -> float | None:
    """Return by what share a reading changed; None where no share can be said of it."""
    if not (isinstance(old, Reading) and isinstance(new, Reading)) or old.value <= 0.0:
        return None
    if old.dimension != new.dimension or old.dimension in ("temperature", "share"):
        return None
    return None if key in _HEIGHTS else new.value / old.value - 1.0


def _compared(was: _Stands, now: _Stands) -> tuple[bool, bool]:
    """Return whether both mean the same, and whether they lie within each other's tolerance."""
    (one, what), (other, what_now) = _readings(was.value), _readings(now.value)
    if what != what_now or not one:
        return what == what_now, False
    pairs = list(zip(one, other, strict=True))
    same = all(isclose(*ends) for x, y in pairs for ends in zip(x[:3], y[:3], strict=True))
    return same, all(_lies_within(x, y) and _lies_within(y, x) for x, y in pairs)


def _readings(value: Any) -> tuple[list[Reading], Any]:
    """Return the readings in a value, and what has to be the same for them to be compared."""
    if isinstance(value, Reading):
        return [value], (value.unit == "SUS", value.dimension == "dynamic viscosity")
    if isinstance(value, Holes):
        return [size for _, size in value.groups], [count for count, _ in value.groups]
    return [], set(value) if isinstance(value, list) else str(value)


def _lies_within(one: Reading, other: Reading) -> bool:
    low, high = other.low, other.high
    # figures come out of sums: they meet to the last few bits
    return low <= one.value <= high or isclose(one.value, low) or isclose(one.value, high)
