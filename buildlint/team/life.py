"""How far a build has come: a plan, built, or past. No clock is asked."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

from buildlint.files.fault import Fault
from buildlint.files.models import Build
from buildlint.files.reader import FileRead
from buildlint.team.blends import rings
from buildlint.team.repository import Team
from buildlint.text.words import shown

__all__ = ["Life", "event_id", "is_plan", "lives", "only_mistakes"]

Life = Literal["plan", "built", "past"]

#: A bench date and the date of the event; of no event, the bench date stands for it.
_Dates = tuple[datetime.date, datetime.date]


def is_plan(build: FileRead) -> bool:
    """Return whether a build has no bench date; one that cannot be read was given all the same."""
    model = build.model
    if not isinstance(model, Build) or ("bench", "on") in build.refused:
        return False
    return model.bench is not None and model.bench.on is None


def lives(team: Team) -> dict[Path, Life]:
    """Return how far each build of a team has come.

    A build without a bench date is a plan, one with it is built. It is past when its car has a
    build with a later bench date for a later event, or when its file says so. With every build
    read, those that are like themselves get that mistake.

    >>> from buildlint import load_team
    >>> found = lives(load_team("examples/saltmarsh"))
    >>> sorted(path.name for path, life in found.items() if life == "past")
    ['dunlin-estuary.build.toml', 'heron-estuary.build.toml']
    """
    found: dict[Path, Life] = {}
    by_car: dict[str, dict[Path, _Dates]] = {}
    for path in team.paths("build"):
        read = team.file(path)
        model = read.model
        found[path] = "plan" if is_plan(read) else "built"
        if not isinstance(model, Build):
            continue
        if model.past:
            found[path] = "past"
        dates = _dates(team, model)
        if model.car is not None and dates is not None:
            by_car.setdefault(model.car, {})[path] = dates
    for each in by_car.values():
        found.update(dict.fromkeys(_overtaken(each), "past"))
    _tell_of_rings(team)
    return found


def _tell_of_rings(team: Team) -> None:
    """Tell of builds that are like themselves, by whatever way, in the file of the first."""
    like: dict[str, list[str]] = {}
    by_id = team.by_id("build")
    for ident, path in by_id.items():
        model = team.file(path).model
        other = model.like if isinstance(model, Build) else None
        like[ident] = [other] if other in by_id else []
    for way in rings(like):
        some = [*map(shown, way)] if len(way) < 9 else [*map(shown, way[:7]), "…"]
        fault = Fault(
            "file/like-itself",
            f"like leads back to the same build: {' like '.join(some)}",
            ("like",),
        )
        faults = team.file(by_id[way[0]]).faults
        if fault not in faults:
            faults.append(fault)


def event_id(team: Team, build: str) -> str | None:
    """Return the id of the event that a build is for, as its file says; the build by its id."""
    path = team.path_of("build", build)
    model = team.file(path).model if path is not None else None
    return model.event if isinstance(model, Build) else None


def _dates(team: Team, build: Build) -> _Dates | None:
    """Return when a build was built and raced; None of a plan.

    Where no event is known, nor its date, the bench date stands for it: an event that is deleted
    brings no past build back.
    """
    day = build.bench.on if build.bench is not None else None
    event, _ = team.event_of(build)
    raced = event.on if event is not None else None
    return (day, raced or day) if day is not None else None


def _overtaken(dates: dict[Path, _Dates]) -> list[Path]:
    """Return the builds of one car that have another, later at the bench and at its event."""
    found: list[Path] = []
    latest_event = latest_so_far = datetime.date.min
    bench_before = datetime.date.max
    for path, (bench, event) in sorted(dates.items(), key=lambda each: each[1], reverse=True):
        if bench < bench_before:
            bench_before, latest_event = bench, latest_so_far
        if event < latest_event:
            found.append(path)
        latest_so_far = max(latest_so_far, event)
    return found


def only_mistakes(team: Team, past: Iterable[Path], files: set[Path]) -> list[str]:
    """Look at those of past builds whose files have a mistake, and at no others; gives the ids."""
    found: list[str] = []
    for path in past:
        read = team.file(path)
        found.append(read.id)
        if read.faults:
            files.add(path)
        else:
            files.discard(path)
            team.forget(path)
    return found
