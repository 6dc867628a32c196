"""The main job: pick the builds that paths mean, judge them, and say what was found where."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path

from buildlint.assembly import TeamDrawers, dampers
from buildlint.commit import tracked_files
from buildlint.damper import Damper
from buildlint.errors import PathError
from buildlint.files.models import Build
from buildlint.files.reader import FileRead, is_ours
from buildlint.finding import Counts, Finding
from buildlint.finding_writer import FindingWriter, seen_from_here
from buildlint.judge import Judge
from buildlint.rulebook import Rulebook, load_rulebook
from buildlint.selection import meant, roots_of, used_by
from buildlint.settings import check_settings
from buildlint.solve import cures
from buildlint.team import Team, files_below
from buildlint.words import clean

__all__ = ["Inspection", "Judged", "inspect"]


@dataclass(slots=True)
class Judged:
    """One build as judged: its file, its dampers, and what was found.

    `waits` says that a file which it stands on has a mistake.
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


@dataclass(slots=True)
class Inspection:
    """What an inspection found. `findings` holds all but what holds, in the order of files.

    `in_files` are the findings about how files are written, which belong to no one build;
    `looked_at` counts files that were named, are sound, and are used by no build.
    """

    builds: list[Judged] = field(default_factory=list)
    in_files: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    looked_at: int = 0

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
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]] = ".",
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
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else paths:
        if not os.fspath(given):
            raise PathError("a path is empty")
        path = Path(os.path.abspath(given))  # noqa: PTH100 - resolve() would follow links
        if not tracked and not os.path.lexists(path):
            raise PathError(f"there is no {clean(str(given))}")
        for root in roots_of(path):
            by_root.setdefault(root, []).append(path)
    inspection = Inspection()
    judge = Judge(book)
    for root in sorted(by_root):
        check_settings(root)
        _inspect_team(root, by_root[root], judge, book, inspection, tracked)
    if not tracked and not (inspection.builds or inspection.in_files or inspection.looked_at):
        raise PathError("no builds here: a build is a file named NAME.build.toml")
    return inspection


def _inspect_team(
    root: Path,
    given: Sequence[Path],
    judge: Judge,
    book: Rulebook,
    inspection: Inspection,
    tracked: bool,
) -> None:
    paths = set(tracked_files(root) if tracked else files_below(root))
    if not tracked:
        paths.update(p for p in given if is_ours(p.name) and os.path.lexists(p))
    team = Team(root, paths)
    builds, files = meant(team, given)
    writer = FindingWriter(team, book)
    before = len(inspection.builds)
    for path in builds:
        found = team.file(path)
        files.add(path)
        if isinstance(found.model, Build):
            used = used_by(team, found.model)
            files.update(used)
            judged = _judged(team, found, judge, writer)
            judged.waits = any(team.file(p).faults for p in (path, *used))
            inspection.builds.append(judged)
    inspection.looked_at += 0 if builds or any(p.is_dir() for p in given) else len(files)
    # a deleted file was named too, and may still lie on the disk
    for path in sorted(files & paths):
        misnamed = path in team.misnamed
        for finding in [writer.misnamed(path)] if misnamed else writer.in_file(team.file(path)):
            inspection.in_files.append(finding)
            inspection.counts.add(finding.verdict)
    for judged in inspection.builds[before:]:
        inspection.counts.builds += 1
        for name in ("holds", "doubtful", "fails", "not_judged", "conceded"):
            total = getattr(inspection.counts, name) + getattr(judged.counts, name)
            setattr(inspection.counts, name, total)


# --- what is said --------------------------------------------------------------------------------


def _judged(team: Team, found: FileRead, judge: Judge, writer: FindingWriter) -> Judged:
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
            solve = None
            if judgement.verdict in ("fails", "doubtful") and judgement.rule.turn:
                # solved when a report asks for it: most doubts are told in one line
                work = partial(cures, judge, judgement, judged.dampers, TeamDrawers(team))
                solve = cache(work)
            judged.findings.append(writer.of(judgement, found, solve))
    return judged
