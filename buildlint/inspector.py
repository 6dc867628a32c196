"""Inspect one team: its builds judged, its files looked at."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import Path
from typing import NamedTuple

from buildlint.assembly import TeamDrawers, dampers
from buildlint.damper import Damper
from buildlint.files.models import KINDS, Build
from buildlint.files.reader import FileRead
from buildlint.finding import Cure, Finding
from buildlint.finding_writer import FindingWriter
from buildlint.inspected import Inspection, Judged
from buildlint.judge import Judge
from buildlint.leaves import Leaves
from buildlint.messages import message
from buildlint.rulebook import Rulebook
from buildlint.rules_in_force import InForce, rules_in_force
from buildlint.selection import used_by
from buildlint.team import Team

__all__ = ["MOST_CURES", "Inspector", "Progress", "Told", "Work"]

#: How many findings of one run are solved for: each may take a blink, and none reads thousands.
MOST_CURES = 200
_TOO_MANY = (
    f"no figure is worked out for more than {MOST_CURES} findings: inspect this build by itself"
)

#: Is told how many builds are judged, of how many.
Progress = Callable[[int, int], None]

#: Judges builds in another place; gives what is told of some at a time, in their order.
Elsewhere = Callable[[Sequence[Path]], Iterator["Told"]]


@dataclass(slots=True)
class Told:
    """What is told of some builds.

    `files` are those that they stand on, and their own where there is a mistake in it; `leaves`
    the numbers of the concessions that were of use.
    """

    builds: list[Judged] = field(default_factory=list)
    files: set[Path] = field(default_factory=set)
    leaves: set[int] = field(default_factory=set)


class Work(NamedTuple):
    """What is needed to make an inspector, here or in another process."""

    root: Path
    known: frozenset[Path]
    rulebook: Rulebook | None
    on: datetime.date

    def team(self) -> Team:
        """Give the team, of which nothing is read yet."""
        return Team(self.root, self.known)

    def force(self) -> InForce:
        """Give the rules in force; raises RulebookError and SettingsError."""
        return rules_in_force(self.root, self.rulebook)


class Inspector:
    """Judges the builds of one team by the rules in force, with its concessions as on a day."""

    def __init__(self, team: Team, force: InForce, on: datetime.date, many: bool = False) -> None:
        """Take the team; `many` where more than MANY of its builds are to be judged."""
        self.team = team
        self.force = force
        self.on = on
        self.many = many
        self.judge = Judge(force.book, many)
        self.writer = FindingWriter(team, force.book)
        self.leaves = Leaves(force.concessions, on)
        self._solved = 0
        self._last: tuple[Path, list[Damper]] | None = None

    # --- builds ----------------------------------------------------------------------------------

    def tell(self, paths: Sequence[Path]) -> Told:
        """Judge the builds in some files. Their findings do not know of cures yet."""
        told = Told()
        for path in paths:
            read = self.team.file(path)
            if not isinstance(read.model, Build):
                told.files.add(path)
                continue
            used = used_by(self.team, read.model)
            judged = self._judged(read, read.model)
            judged.waits = any(self.team.file(p).faults for p in (path, *used))
            told.builds.append(judged)
            told.files |= used
            if read.faults or not self.many:
                told.files.add(path)
                continue
            # of many, what is sound is counted and let go
            self.team.forget(path)
            self.writer.forget(path)
        told.leaves = self.leaves.used
        return told

    def _judged(self, found: FileRead, model: Build) -> Judged:
        made = dampers(self.team, found)
        held, others = self.judge.settle(made)
        judged = Judged.of(found.path, model.car, model.event, held)
        if not self.many:
            judged.make = lambda: made
        for judgement in others:
            for part in self.leaves.parts(judgement, found.id):
                finding = self.leaves.conceded(self.writer.of(part, found))
                judged.counts.add("conceded" if finding.concession else finding.verdict)
                judged.findings.append(finding)
        return judged

    def complete(self, judged: Judged) -> None:
        """Let a build be asked for its dampers, and its findings for what would mend them."""
        if self.many and any(f.verdict != "not judged" for f in judged.findings):
            judged.make = partial(self._made_again, judged.path)
        for number, finding in enumerate(judged.findings):
            if finding.verdict in ("fails", "doubtful") and self.force.book[finding.rule].turn:
                # solved when a report asks for it: most doubts are told in one line
                solve = cache(partial(self._cure, judged, finding))
                judged.findings[number] = replace(finding, solve=solve)

    def _made_again(self, path: Path) -> list[Damper]:
        """Give the dampers of one of many builds; the last ones are kept for its next finding."""
        if self._last is None or self._last[0] != path:
            self._last = path, dampers(self.team, self.team.file(path))
            self.team.forget(path)
        return self._last[1]

    def _cure(self, judged: Judged, finding: Finding) -> Cure:
        self._solved += 1
        if self._solved > MOST_CURES:
            return Cure(reason=_TOO_MANY)
        # a sound build has nothing to mend
        from buildlint.solve import cures

        made = judged.dampers
        for whole in self.judge.one(self.force.book[finding.rule], made):
            for part in self.leaves.parts(whole, judged.id):
                if part.subject == finding.subject and message(part) == finding.message:
                    return cures(self.judge, part, made, TeamDrawers(self.team))
        return Cure(reason="the file was changed since it was judged")

    # --- the whole team --------------------------------------------------------------------------

    def inspect(
        self,
        builds: Sequence[Path],
        files: set[Path],
        inspection: Inspection,
        progress: Progress | None,
        elsewhere: Elsewhere | None = None,
    ) -> None:
        """Judge builds, and look at files and at every file that a build stands on.

        What is found goes into the inspection. With `elsewhere`, builds are judged there.
        """
        inspection.changes += self.force.changes
        inspection.rules.update(self.force.book.rules)
        every = elsewhere(builds) if elsewhere is not None else (self.tell([p]) for p in builds)
        found: list[Judged] = []
        if self.many:
            files -= set(builds)
        for told in every:
            if progress is not None:
                progress(len(found), len(builds))
            for judged in told.builds:
                self.complete(judged)
            found += told.builds
            files |= told.files
            self.leaves.used |= told.leaves
        for finding in (*self._in_files(files), *self._of_concessions(found)):
            inspection.in_files.append(finding)
            inspection.counts.add(finding.verdict)
        inspection.builds += found
        for judged in found:
            inspection.counts.take(judged.counts)

    def _in_files(self, files: set[Path]) -> Iterator[Finding]:
        # a deleted file was named too, and may still lie on the disk
        here = {p for paths in map(self.team.paths, KINDS) for p in paths}
        for path in sorted(files):
            if path in here:
                yield from self.writer.in_file(self.team.file(path))
            elif self.team.is_misnamed(path):
                yield self.writer.misnamed(path)

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
