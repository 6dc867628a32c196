"""What is to be done before an event: which builds are ready, what is due, what to pack."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil
from pathlib import Path
from typing import Literal

from buildlint.files.concession import day_of
from buildlint.files.models import Build, Event
from buildlint.files.reader import FileRead
from buildlint.judging.finding import Finding
from buildlint.judging.finding_writer import mistakes_behind, mistakes_told
from buildlint.judging.inspection import Inspection, Judged
from buildlint.judging.inspector import Inspector
from buildlint.judging.rules_in_force import rules_of
from buildlint.measures.damper import Damper
from buildlint.team.life import Life
from buildlint.team.repository import Team
from buildlint.team.selection import find_event
from buildlint.text.errors import PathError
from buildlint.text.words import clean, listed, shown

__all__ = ["CarReady", "Due", "Preparation", "ToPack", "prepare"]

_OIL_HOURS = "record/oil-hours"


@dataclass(frozen=True, slots=True)
class CarReady:
    """A car that goes: its build for the event, whether it is ready, or why not.

    `build` is None where it has none. It is ready when it is built, and nothing fails that must
    hold, but for what is conceded. `fails` says whether a must fails, or a file that the build
    stands on has a mistake. `borderline` are the musts that hold, but not surely; `not_checked`
    those of which something is missing, which is not the same as holding.
    """

    car: str
    build: str | None
    life: Life | None
    ready: bool
    fails: bool
    why: tuple[str, ...]
    borderline: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Due:
    """What is to be done to a build before the event, or once it is there."""

    build: str
    what: Literal["oil", "flight", "rebound"]
    text: str


@dataclass(frozen=True, slots=True)
class ToPack:
    """An oil, with the ml that refill every damper once; or a part, of which one spare is packed.

    `ml` is None of a part. `cars` are those that it is for; `not_known` says that of some damper
    it is not known how much oil it takes, `estimated` that of some it is only estimated.
    """

    kind: Literal["oil", "piston", "bladder", "spring"]
    id: str
    cars: tuple[str, ...]
    ml: int | None = None
    estimated: bool = False
    not_known: bool = False


@dataclass(frozen=True, slots=True)
class Preparation:
    """What is to be done before an event. `mistakes` are those in the files, one line each."""

    event: str
    name: str | None
    on: date | None
    cars: tuple[CarReady, ...]
    due: tuple[Due, ...]
    pack: tuple[ToPack, ...]
    mistakes: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether every car is ready."""
        return all(car.ready for car in self.cars)


def prepare(
    event: str | os.PathLike[str], on: date | None = None, team: Team | None = None
) -> Preparation:
    """Say what is to be done before an event, given by the path of its file or by its id.

    Without a team, an id is looked for in the repository of the working directory. The cars are
    those that the event names, else every car that has a build for it. Concessions count as on the
    day `on` (left out: today). Raises PathError where there is no such event, it cannot be read, no
    car goes there, or no build is for it; SettingsError and RulebookError where settings or rules
    cannot be used; TypeError for what is no team.

    >>> found = prepare("examples/saltmarsh/events/quarry-six-hour.event.toml")
    >>> [(car.car, car.build, car.ready) for car in found.cars][:1]
    [('curlew', 'curlew-quarry', True)]
    """
    day = day_of(on)
    team, path = find_event(event, team)
    read = team.file(path)
    model = read.model
    force = rules_of(team)
    inspector = Inspector(team, force, day)
    by_car = _builds_of(team, read.id, inspector)
    if not isinstance(model, Event) or (read.faults and not by_car):
        raise PathError(f"event {clean(read.id)} cannot be read: {read.faults[0].message}")
    unread = [p for p in team.paths("build") if _says_no_event(team.file(p))]
    if model.cars is not None and not model.cars:
        raise PathError(f"no car goes to {shown(read.id)}: its list of cars is empty")
    if not by_car and model.cars is None:
        also = f"; {clean(team.relative(unread[0]))} cannot be read" if unread else ""
        raise PathError(f"no build is for the event {shown(read.id)}{also}")
    cars = list(dict.fromkeys(sorted(by_car) if model.cars is None else model.cars))
    paths = [by_car[car] for car in cars if car in by_car]
    inspection = Inspection(on=day)
    inspector.inspect(paths, set(), inspection, None)
    judged = {build.car: build for build in inspection.builds if build.car is not None}
    told = dict.fromkeys(
        line
        for build in (*paths, *unread)
        for line in mistakes_told(mistakes_behind(team, build, force.book))
    )
    return Preparation(
        read.id,
        model.name,
        model.on,
        tuple(_car(car, judged.get(car)) for car in cars),
        tuple(due for build in inspection.builds for due in _due(build)),
        tuple(_to_pack(inspection.builds)),
        tuple(told),
    )


def _builds_of(team: Team, event: str, inspector: Inspector) -> dict[str, Path]:
    """Return the build of each car for an event: of several the one built last, else a plan.

    A past one stands last of all; what the team's settings pass over is not looked at.
    """
    found: dict[str, list[tuple[int, date, Path]]] = {}
    paths = team.paths("build")
    passed_over = inspector.force.passed_over(team.root, paths)
    for path in paths:
        if path in passed_over:
            continue
        model = team.file(path).model
        if isinstance(model, Build) and model.event == event and model.car is not None:
            on = model.bench.on if model.bench is not None else None
            rank = ("past", "plan", "built").index(inspector.life[path])
            found.setdefault(model.car, []).append((rank, on or date.min, path))
    return {car: max(builds)[2] for car, builds in found.items()}


def _says_no_event(build: FileRead) -> bool:
    """Return whether a build's mistakes keep it from saying for which event it is."""
    model = build.model
    return bool(build.faults) and (not isinstance(model, Build) or model.event is None)


def _car(car: str, build: Judged | None) -> CarReady:
    if build is None:
        how = "no build for this event: plan one by hand, or with buildlint adapt"
        return CarReady(car, None, None, False, False, (how,))
    musts = [f for f in build.findings if f.level == "must" and f.concession is None]
    fails = [_in_a_line(f) for f in musts if f.verdict == "fails"]
    mistakes = ["a file that it uses has a mistake"] if build.waits else []
    plan = ["not built yet"] if build.life == "plan" else []
    why = (*plan, *mistakes, *fails)
    return CarReady(
        car,
        build.id,
        build.life,
        not why,
        bool(fails or mistakes),
        why,
        tuple(_in_a_line(f) for f in musts if f.verdict == "borderline"),
        tuple(
            dict.fromkeys(
                f"{f.rule} needs {listed(f.missing)}" for f in musts if f.verdict == "not checked"
            )
        ),
    )


def _in_a_line(finding: Finding) -> str:
    """Say a finding on a must in one line."""
    where = finding.subject.replace(".", " ")
    return f"{where}: {finding.told} ({finding.rule})"


# --- what is due ---------------------------------------------------------------------------------


def _due(build: Judged) -> Iterator[Due]:
    for finding in build.serious:
        if finding.rule == _OIL_HOURS and finding.verdict == "fails":
            where = finding.subject.replace(".", " ")
            yield Due(build.id, "oil", f"{where}: change the oil: {finding.message}")
    dampers = build.dampers
    unread = [d for d in dampers if d.rebound is None and d.style == "bladder"]
    if unread and unread[0].bench_on is not None:
        since = date.fromordinal(int(unread[0].bench_on))
        yield Due(
            build.id, "rebound", f"{_where(unread)}: read the rebound: not read since {since}"
        )
    if flown := [d for d in dampers if d.arrives_by_air]:
        text = f"{_where(flown)}: after the flight let them rest, then bleed them again"
        yield Due(build.id, "flight", text)


def _where(dampers: Sequence[Damper]) -> str:
    """Say which dampers of a car some are, as shortly as can be."""
    if len(dampers) == 4:
        return "all four"
    ends = [d.end for d in dampers]
    said = [d.end if ends.count(d.end) == 2 else f"{d.end} {d.side}" for d in dampers]
    return listed([*dict.fromkeys(said)])


# --- what to pack --------------------------------------------------------------------------------

_SPARES: tuple[Literal["piston", "bladder", "spring"], ...] = ("piston", "bladder", "spring")


def _to_pack(builds: Iterable[Judged]) -> Iterator[ToPack]:
    made = [(build.car or "", damper) for build in builds for damper in build.dampers]
    for ident in dict.fromkeys(d.oil for _, d in made if d.oil is not None):
        here = [(car, d) for car, d in made if d.oil == ident]
        volumes = [d.oil_volume for _, d in here if d.oil_volume is not None]
        yield ToPack(
            "oil",
            ident,
            tuple(dict.fromkeys(car for car, _ in here)),
            ceil(round(sum(volumes) * 1e6, 6)),
            any("oil_volume" in d.estimates for _, d in here),
            len(volumes) < len(here),
        )
    for kind in _SPARES:
        fitted: dict[str, list[str]] = {}
        for car, damper in made:
            ident = getattr(damper, kind)
            if ident is not None:
                fitted.setdefault(ident, []).append(car)
        for ident, cars in fitted.items():
            yield ToPack(kind, ident, tuple(dict.fromkeys(cars)))
