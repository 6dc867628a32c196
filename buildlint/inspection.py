"""The main job: pick the builds that paths mean, judge them, and say what was found where."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from typing import Any

from buildlint.assembly import TeamDrawers, dampers
from buildlint.damper import Damper
from buildlint.errors import PathError
from buildlint.files.models import KINDS, Build
from buildlint.files.reader import FileRead, Held, is_ours
from buildlint.finding import Counts, Cure, Finding
from buildlint.finding_writer import FindingWriter
from buildlint.judge import Judge, Judgement
from buildlint.leaves import Leaves
from buildlint.rule import Rule
from buildlint.rulebook import Rulebook, load_rulebook
from buildlint.rules_in_force import InForce, RuleChange, rules_in_force
from buildlint.selection import meant, roots_of, used_by
from buildlint.settings import OWN, SETTINGS
from buildlint.team import Team, files_below
from buildlint.words import clean, seen_from_here, shown

__all__ = ["MANY", "Inspection", "Judged", "inspect", "inspect_build"]


#: Beyond so many builds a sound one is told in one line, and little of it is kept.
MANY = 12


@dataclass(slots=True)
class Judged:
    """One build as judged: its file, its dampers, and what was found.

    `waits` says that a file which it stands on has a mistake. `held` are the rules that hold, each
    with the subject that it holds on; of every other judgement there is a finding. Among more than
    MANY builds, one in which nothing was found has no dampers any more.
    """

    id: str
    path: Path
    file: str
    car: str | None
    event: str | None
    dampers: list[Damper]
    findings: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    waits: bool = False
    held: Sequence[tuple[str, str]] = ()


@dataclass(slots=True)
class Inspection:
    """What an inspection found. `findings` holds all but what holds, in the order of files.

    `in_files` are the findings about how files are written, which belong to no one build;
    `looked_at` counts files that were named, are sound, and are used by no build. `changes` are
    the ways in which the teams' rules differ from those that come with buildlint, `rules` those
    that were judged by.
    """

    builds: list[Judged] = field(default_factory=list)
    in_files: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    looked_at: int = 0
    changes: list[RuleChange] = field(default_factory=list)
    rules: dict[str, Rule] = field(default_factory=dict)

    @property
    def findings(self) -> list[Finding]:
        """Give all findings: those in files, then those of each build."""
        return [*self.in_files, *(f for build in self.builds for f in build.findings)]

    def passes(self, strict: bool = False) -> bool:
        """Say whether no `must` fails; when strict, also no `should` and no doubt.

        What is conceded stands in nobody's way.
        """
        return not any(
            (f.verdict == "fails" and (strict or f.level == "must"))
            or (strict and f.verdict == "doubtful")
            for f in self.findings
            if f.concession is None
        )


Progress = Callable[[int, int], None]


def inspect(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]] = ".",
    *,
    rulebook: Rulebook | None = None,
    tracked: bool = False,
    on: datetime.date | None = None,
    progress: Progress | None = None,
) -> Inspection:
    """Judge the builds that the paths mean: a file of any kind, or a folder.

    A changed car, part or event judges every build that uses it. With `tracked`, only files that
    git knows are read, and a path that is gone is taken as a file deleted. A `rulebook` stands in
    for all rules in force, the team's own included. Concessions count as on the day `on` (left
    out: today). `progress` is told how many builds are judged, of how many in this repository.
    Raises PathError where a path is missing or none of ours, or where there is nothing to judge;
    RulebookError and SettingsError where rules or settings cannot be used. Nothing is printed.

    >>> found = inspect(["examples/saltmarsh"])
    >>> found.passes(), found.counts.fails
    (True, 0)
    """
    by_root: dict[Path, list[Path]] = {}
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else paths:
        if not os.fspath(given):
            raise PathError("a path is empty")
        path = Path(os.path.abspath(given))  # noqa: PTH100 - resolve() would follow links
        if not tracked and not os.path.lexists(path):
            raise PathError(f"there is no {clean(str(given))}")
        for root in roots_of(path):
            if tracked and path.name.endswith(".toml") and not _matters(path, root):
                continue
            by_root.setdefault(root, []).append(path)
    base = rulebook if rulebook is not None or by_root else load_rulebook()
    inspection = Inspection(rules=dict(base.rules) if base is not None else {})
    day = on if on is not None else datetime.date.today()
    for root in sorted(by_root):
        if tracked:
            from buildlint.commit import tracked_files

            known = set(tracked_files(root))
        else:
            known = set(files_below(root))
        if not tracked:
            known.update(p for p in by_root[root] if is_ours(p.name) and os.path.lexists(p))
        inspector = _Inspector(
            Team(root, known), rules_in_force(root, rulebook), day, inspection, progress
        )
        inspector.inspect(by_root[root])
    if not tracked and not (inspection.builds or inspection.in_files or inspection.looked_at):
        raise PathError("no builds here: a build is a file named NAME.build.toml")
    return inspection


def _matters(path: Path, root: Path) -> bool:
    """Say whether a file of a commit is one of the team's; not every folder rules/ is."""
    return is_ours(path.name) or path.name == SETTINGS or path.is_relative_to(root / OWN)


def inspect_build(
    build: Mapping[str, Any] | str,
    team: Team,
    *,
    rulebook: Rulebook | None = None,
    name: str = "in-memory",
    on: datetime.date | None = None,
) -> Inspection:
    """Judge a build that stands in no file, with the cars, events and drawers of a team.

    The build is a table with the keys of a NAME.build.toml (readings as text, dates as
    `datetime.date`), or the text of such a file; `name` is the id that it goes by: that of a build
    of the team stands in its place. `rulebook` and `on` as for `inspect`. Raises PathError for a
    name that cannot be an id, TypeError for a build that is neither table nor text, RulebookError
    and SettingsError where rules or settings cannot be used. Mistakes in the build are findings.

    >>> from buildlint import load_team
    >>> half = {"piston": "four-18", "oil": "o450", "bladder": "small", "hold_back": "0 mm"}
    >>> bench = {"on": datetime.date(2027, 6, 5), "temperature": "16 degC", "altitude": "5 m"}
    >>> build = {"car": "heron", "bench": bench, "front": half, "rear": half}
    >>> found = inspect_build(build, load_team("examples/saltmarsh"))
    >>> [f.subject for f in found.findings if f.rule == "bladder/into-body-room"]
    ['front', 'rear']
    """
    if not name or name.startswith(".") or "/" in name or os.sep in name or not name.isprintable():
        raise PathError(f"{shown(name)} cannot be the name of a build")
    held: Held
    if isinstance(build, str):
        held = build.encode("utf-8", "surrogatepass")
    elif isinstance(build, Mapping):
        held = build
    else:
        raise TypeError("a build is a table with the keys of its file, or the text of one")
    inspection = Inspection()
    day = on if on is not None else datetime.date.today()
    path = team.builds.get(name, team.root / f"{name}.build.toml")
    with_it = team.with_files({str(path): held})
    force = rules_in_force(team.root, rulebook)
    _Inspector(with_it, force, day, inspection, None).inspect([path])
    return inspection


class _Inspector:
    """Inspects the files of one team; what it finds goes into an inspection."""

    def __init__(
        self,
        team: Team,
        force: InForce,
        on: datetime.date,
        inspection: Inspection,
        progress: Progress | None,
    ) -> None:
        self.team = team
        self.force = force
        self.on = on
        self.inspection = inspection
        self.progress = progress
        self.judge = Judge(force.book)  # another, where there are many builds
        self.writer = FindingWriter(team, force.book)
        self.leaves = Leaves(force.concessions, on)
        inspection.changes += force.changes
        inspection.rules.update(force.book.rules)

    def inspect(self, given: Sequence[Path]) -> None:
        """Judge the builds that the paths mean, and look at every file that they stand on."""
        team, inspection = self.team, self.inspection
        builds, files = meant(team, given)
        if len(builds) > MANY:
            self.judge = Judge(self.force.book, many=True)
        found: list[Judged] = []
        for number, path in enumerate(builds):
            if self.progress is not None:
                self.progress(number, len(builds))
            read = team.file(path)
            files.add(path)
            if isinstance(read.model, Build):
                used = used_by(team, read.model)
                files.update(used)
                judged = self._judged(read)
                judged.waits = any(team.file(p).faults for p in (path, *used))
                found.append(judged)
                if len(builds) > MANY and not read.faults:
                    # of many, what is sound is counted and let go
                    team.forget(path)
                    files.discard(path)
                    if all(f.verdict == "not judged" for f in judged.findings):
                        judged.dampers = []
        inspection.looked_at += 0 if builds or any(p.is_dir() for p in given) else len(files)
        # a deleted file was named too, and may still lie on the disk
        here = {p for paths in map(team.paths, KINDS) for p in paths} | set(team.misnamed)
        for path in sorted(files & here):
            misnamed = path in team.misnamed
            for finding in (
                [self.writer.misnamed(path)] if misnamed else self.writer.in_file(team.file(path))
            ):
                self._in_file(finding)
        for finding in self._of_concessions(found):
            self._in_file(finding)
        inspection.builds += found
        for judged in found:
            inspection.counts.builds += 1
            for name in ("holds", "doubtful", "fails", "not_judged", "conceded"):
                total = getattr(inspection.counts, name) + getattr(judged.counts, name)
                setattr(inspection.counts, name, total)

    def _in_file(self, finding: Finding) -> None:
        self.inspection.in_files.append(finding)
        self.inspection.counts.add(finding.verdict)

    def _judged(self, found: FileRead) -> Judged:
        model = found.model
        assert isinstance(model, Build)
        judged = Judged(
            found.id,
            found.path,
            seen_from_here(found.path),
            model.car,
            model.event,
            dampers(self.team, found),
        )
        judged.held, others = self.judge.settle(judged.dampers)
        judged.counts.holds = len(judged.held)
        for judgement in others:
            for part in self.leaves.parts(judgement, found.id):
                finding = self.leaves.conceded(self._finding(part, found, judged))
                judged.counts.add("conceded" if finding.concession else finding.verdict)
                judged.findings.append(finding)
        return judged

    def _finding(self, judgement: Judgement, found: FileRead, judged: Judged) -> Finding:
        solve = None
        if judgement.verdict in ("fails", "doubtful") and judgement.rule.turn:
            # solved when a report asks for it: most doubts are told in one line
            drawers = TeamDrawers(self.team)
            work = partial(_cures, self.judge, judgement, judged.dampers, drawers)
            solve = cache(work)
        return self.writer.of(judgement, found, solve)

    def _of_concessions(self, found: Sequence[Judged]) -> Iterator[Finding]:
        """Give the findings about concessions that are over, or that nothing needs."""
        settings, book = self.force.settings, self.force.book.rules
        if settings is None:
            return
        judged = {build.id for build in found}
        waiting = {build.id for build in found if build.waits}
        every = set(self.team.builds)
        off = {change.rule for change in self.force.changes if change.kind == "off"}
        if "file/concession-expired" in book:
            for leave in self.leaves.over(judged, judged >= every):
                yield self.writer.concession_expired(leave, settings, self.on)
        if "file/concession-unused" in book:
            for leave in self.leaves.unused(judged, judged >= every, waiting):
                # rules that were given may leave out one that a concession is for
                if leave.rule in book or leave.rule in off:
                    yield self.writer.concession_unused(leave, settings, every)


def _cures(
    judge: Judge, judgement: Judgement, dampers: Sequence[Damper], drawers: TeamDrawers
) -> Cure:
    # a sound build has nothing to mend
    from buildlint.solve import cures

    return cures(judge, judgement, dampers, drawers)
