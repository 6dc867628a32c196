"""The main job: pick the builds that paths mean, judge them, and say what was found where."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from buildlint.amounts import in_unit
from buildlint.commit import PathError, tracked_files
from buildlint.damper import Damper, TeamDrawers, dampers
from buildlint.files.models import Build
from buildlint.files.places import START, Place, Places
from buildlint.files.reader import Fault, FileRead, kind_and_id
from buildlint.finding import Counts, Finding
from buildlint.judge import Judge, Judgement
from buildlint.messages import brief, message, widest
from buildlint.rulebook import Ask, Rulebook, load_rulebook
from buildlint.settings import SETTINGS, check_settings
from buildlint.solve import Cure, cures
from buildlint.team import Origin, Team, files_below, find_root, references
from buildlint.words import clean

__all__ = ["Inspection", "Judged", "inspect"]


@dataclass(slots=True)
class Judged:
    """One build as judged: its file, its dampers, and what was found."""

    id: str
    path: Path
    file: str
    car: str | None
    event: str | None
    dampers: list[Damper]
    findings: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)


@dataclass(slots=True)
class Inspection:
    """What an inspection found. `findings` holds all but what holds, in the order of files.

    `in_files` are the findings about how files are written, which belong to no one build.
    """

    builds: list[Judged] = field(default_factory=list)
    in_files: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)

    @property
    def findings(self) -> list[Finding]:
        """Give all findings: those in files, then those of each build."""
        return [*self.in_files, *(f for build in self.builds for f in build.findings)]

    def passes(self, strict: bool = False) -> bool:
        """Say whether no `must` fails; when strict, also no `should` and no doubt."""
        return not any(
            (f.verdict == "fails" and (strict or f.level == "must"))
            or (strict and f.verdict == "doubtful")
            for f in self.findings
        )


def inspect(
    paths: Iterable[str | os.PathLike[str]] = (".",),
    *,
    rulebook: Rulebook | None = None,
    tracked: bool = False,
) -> Inspection:
    """Judge the builds that the paths mean: a file of any kind, or a folder.

    A changed car, part or event judges every build that uses it. With `tracked`, only files that
    git knows are read, and a path that is gone is taken as a file deleted. Raises PathError where
    a path is missing or none of ours, or where there is nothing to judge; RulebookError and
    SettingsError where rules or settings cannot be used. Nothing is printed.

    >>> found = inspect(["examples/saltmarsh"])
    >>> found.passes(), found.counts.fails
    (True, 0)
    """
    book = rulebook if rulebook is not None else load_rulebook()
    by_root: dict[Path, list[Path]] = {}
    for given in paths:
        path = Path(os.path.abspath(given))  # noqa: PTH100 - resolve() would follow links
        if not tracked and not os.path.lexists(path):
            raise PathError(f"there is no {clean(str(given))}")
        for root in _roots(path):
            by_root.setdefault(root, []).append(path)
    inspection = Inspection()
    judge = Judge(book)
    for root in sorted(by_root):
        check_settings(root)
        _inspect_team(root, by_root[root], judge, book, inspection, tracked)
    if not tracked and not inspection.builds and not inspection.in_files:
        raise PathError("no builds here: a build is a file named NAME.build.toml")
    return inspection


def _roots(path: Path) -> list[Path]:
    """Give the roots that a path means: its own, and any that lie below a folder."""
    roots = [find_root(path)]
    if path.is_dir():
        for folder, inside, files in os.walk(path):
            inside[:] = [name for name in inside if not name.startswith(".")]
            if SETTINGS in files and Path(folder) not in roots:
                roots.append(Path(folder))
    return roots


def _inspect_team(
    root: Path,
    given: Sequence[Path],
    judge: Judge,
    book: Rulebook,
    inspection: Inspection,
    tracked: bool,
) -> None:
    paths = set(tracked_files(root) if tracked else files_below(root))
    paths.update(p for p in given if kind_and_id(p.name) is not None and os.path.lexists(p))
    team = Team(root, paths)
    builds, files = _meant(team, given)
    writer = _Writer(team, book)
    before = len(inspection.builds)
    for path in builds:
        found = team.file(path)
        files.add(path)
        if isinstance(found.model, Build):
            files.update(_used(team, found.model))
            inspection.builds.append(_judged(team, found, judge, writer))
    for path in sorted(path for path in files if os.path.lexists(path)):
        for finding in writer.in_file(team.file(path)):
            inspection.in_files.append(finding)
            inspection.counts.add(finding.verdict)
    for judged in inspection.builds[before:]:
        inspection.counts.builds += 1
        for name in ("holds", "doubtful", "fails", "not_judged", "conceded"):
            total = getattr(inspection.counts, name) + getattr(judged.counts, name)
            setattr(inspection.counts, name, total)


# --- which builds --------------------------------------------------------------------------------


def _meant(team: Team, given: Sequence[Path]) -> tuple[list[Path], set[Path]]:
    """Give the builds that the paths mean, sorted, and the files that are to be looked at."""
    every = {kind: team.paths(kind) for kind in ("parts", "car", "event", "build")}
    files: set[Path] = set()
    for path in given:
        named = kind_and_id(path.name)
        if named is not None:
            files.add(path)
        elif path.is_dir():
            files.update(p for paths in every.values() for p in paths if p.is_relative_to(path))
        elif path.name == SETTINGS or path.parent.name == "rules":
            files.update(p for paths in every.values() for p in paths)
        else:
            raise PathError(f"{path} is none of the files that are read here")
    builds = files & set(every["build"])
    changed = files - builds
    if changed and len(builds) < len(every["build"]):
        for path in every["build"]:
            model = team.file(path).model
            if path not in builds and isinstance(model, Build):
                dead = any(f.rule == "file/no-such-id" for f in team.file(path).faults)
                if dead or changed & _used(team, model):
                    builds.add(path)
    return sorted(builds), files


def _used(team: Team, build: Build) -> set[Path]:
    """Give the files that a build stands on."""
    used: set[Path] = set()
    wanted: list[tuple[str, str]] = [(kind, ident) for kind, ident, _ in references(build)]
    for _, found in (team.car_of(build), team.event_of(build)):
        if found is not None:
            used.add(found.path)
            wanted += [(kind, ident) for kind, ident, _ in references(found.model)]
    seen: set[tuple[str, str]] = set()
    while wanted:
        kind, ident = wanted.pop()
        if (kind, ident) in seen or kind not in team.parts():
            continue
        seen.add((kind, ident))
        part = team.part(kind, ident)
        if part is None:
            # it may stand in a parts file that cannot be read
            used.update(p for p in team.paths("parts") if team.file(p).model is None)
        else:
            used.update(team.homes(kind, ident))
            wanted += [("oil", other) for other in getattr(part.table, "blend", None) or ()]
    return used


# --- what is said --------------------------------------------------------------------------------


def _judged(team: Team, found: FileRead, judge: Judge, writer: _Writer) -> Judged:
    model = found.model
    assert isinstance(model, Build)
    judged = Judged(
        found.id,
        found.path,
        seen_from_here(found.path),
        model.car,
        model.event,
        dampers(team, found),
    )
    for judgement in judge.judge(judged.dampers):
        judged.counts.add(judgement.verdict)
        if judgement.verdict != "holds":
            cure = Cure()
            if judgement.verdict in ("fails", "doubtful") and judgement.rule.turn:
                cure = cures(judge, judgement, judged.dampers, TeamDrawers(team))
            judged.findings.append(writer.of(judgement, found, cure))
    return judged


def seen_from_here(path: Path) -> str:
    """Give a path as seen from the working directory, with forward slashes."""
    try:
        return Path(os.path.relpath(path)).as_posix()
    except ValueError:  # another drive
        return path.as_posix()


class _Writer:
    """Turns judgements and faults into findings, with their places."""

    def __init__(self, team: Team, book: Rulebook) -> None:
        self.team = team
        self.book = book
        self._places: dict[Path, Places] = {}

    def in_file(self, found: FileRead) -> list[Finding]:
        """Give the findings about how a file is written, in the order of its lines."""
        findings = [self._fault(found, fault) for fault in found.faults]
        return sorted(findings, key=lambda f: (f.line, f.column, f.rule, f.message))

    def of(self, judgement: Judgement, build: FileRead, cure: Cure) -> Finding:
        """Give the finding that a judgement stands for."""
        rule, unit, found = judgement.rule, judgement.unit, judgement.bounds
        origin, place, stands = self._place(judgement, build)
        value: float | str | None = None
        low = high = None
        if found is not None:
            value, low, high = (in_unit(v, unit) for v in (found.value, found.low, found.high))
        margin = judgement.margin
        return Finding(
            rule=rule.id,
            title=rule.title,
            level=rule.level,
            verdict=judgement.verdict,
            message=message(judgement),
            file=seen_from_here(origin),
            line=place.line,
            column=place.column,
            end_column=place.end_column,
            build=build.id,
            subject=judgement.subject,
            measure=judgement.measure.name,
            condition=judgement.condition,
            value=value,
            low=low,
            high=high,
            unit=unit if unit != "id" else None,
            limit=_limit(judgement.ask, unit) if judgement.ask is not None else {},
            margin=in_unit(margin, unit) if margin is not None else None,
            brief=brief(judgement),
            at_worst=judgement.measure.at_worst,
            widest=widest(judgement.bounds) if judgement.verdict != "holds" else "",
            cure=rule.cure,
            cure_figures=cure.figures,
            no_figure=cure.reason,
            caution=rule.caution,
            missing=judgement.missing,
            stands=stands,
            path=origin,
        )

    def _fault(self, found: FileRead, fault: Fault) -> Finding:
        rule = self.book.rules.get(fault.rule)
        place, stands = fault.place or START, ""
        if found.data:
            places = self._places_of(found)
            if fault.place is None and fault.path:
                place = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
            if place is not START:
                stands = places.line(place.line).strip()
        return Finding(
            rule=fault.rule,
            title=rule.title if rule is not None else fault.rule,
            level="must",
            verdict="fails",
            message=fault.message,
            file=seen_from_here(found.path),
            line=place.line,
            column=place.column,
            end_column=place.end_column,
            cure=rule.cure if rule is not None else "",
            stands=stands,
            path=found.path,
        )

    def _place(self, judgement: Judgement, build: FileRead) -> tuple[Path, Place, str]:
        origin = _origin(judgement)
        if origin is None:
            origin = Origin(build.path, (judgement.dampers[0].end,))
        found = self.team.file(origin.path)
        if not found.data:
            return origin.path, START, ""
        places = self._places_of(found)
        place = places.of_value(origin.keys)
        return origin.path, place, places.line(place.line).strip() if place is not START else ""

    def _places_of(self, found: FileRead) -> Places:
        if found.path not in self._places:
            self._places[found.path] = Places(found.data)
        return self._places[found.path]


def _origin(judgement: Judgement) -> Origin | None:
    """Give where the reading stands that a judgement is about: the one read on a side first."""
    about = judgement.measure.about
    if judgement.ask is not None and judgement.ask.exactly and isinstance(judgement.words, tuple):
        left, right = judgement.words
        if isinstance(left, tuple):
            about = next((a[0] for a, b in zip(left, right, strict=True) if a != b), about)
    found = [d.origin[about] for d in judgement.dampers if about in d.origin]
    if not found:
        return None
    return max(found, key=lambda o: (len(o.keys), o.keys))


def _limit(ask: Ask, unit: str) -> dict[str, float | str | list[float] | list[str]]:
    if ask.exactly:
        return {"same_within": "exactly"}
    if ask.same_within is not None:
        return {"same_within": in_unit(ask.same_within, unit)}
    if ask.one_of:
        return {"one_of": list(ask.one_of)}
    if ask.is_true:
        return {"is": "true"}
    limits: dict[str, float | str | list[float] | list[str]] = {}
    if ask.at_least is not None:
        limits["at_least"] = in_unit(ask.at_least, unit)
    if ask.at_most is not None:
        limits["at_most"] = in_unit(ask.at_most, unit)
    return limits
