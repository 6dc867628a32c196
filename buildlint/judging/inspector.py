"""The main job: pick the builds that paths mean, judge them, and say what was found where."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

from buildlint.files.concession import day_of
from buildlint.files.models import KINDS, Build
from buildlint.files.names import is_ours, meant_rule
from buildlint.files.paths import path_of
from buildlint.files.reader import FileRead
from buildlint.judging.concessions import Concessions
from buildlint.judging.each_cause import each_cause_once
from buildlint.judging.finding import Cure, Finding
from buildlint.judging.finding_writer import FindingWriter
from buildlint.judging.inspection import MANY, Inspection, Judged
from buildlint.judging.judge import AT_A_TIME, Judge
from buildlint.judging.judgement import Judgement, Outcome
from buildlint.judging.rulebook import Rulebook, check_rulebook
from buildlint.judging.rules_in_force import InForce, rules_in_force, rules_of
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from buildlint.team.folders import files_below
from buildlint.team.life import Life, event_id, lives, only_mistakes
from buildlint.team.repository import Team
from buildlint.team.selection import (
    BuildLike,
    build_of,
    files_meant,
    find_build,
    meant,
    roots_of,
    used_by,
)
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = ["Inspector", "Progress", "inspect_build", "inspect_team"]

#: Is told how many builds are judged, of how many.
Progress = Callable[[int, int], None]


class Inspector:
    """Judges the builds of one team by the rules in force, with its concessions as on a day.

    What would mend a finding is looked for where at most MANY builds are judged, when it is asked
    for.
    """

    def __init__(
        self,
        team: Team,
        force: InForce,
        on: datetime.date,
        many: bool = False,
        life: Mapping[Path, Life] | None = None,
        past_files: bool = True,
    ) -> None:
        """Take the team; `many` where more than MANY of its builds are to be judged.

        `life` says how far each build has come, where that is known already. Without `past_files`
        nothing is said of the file of a past build that another is like.
        """
        self.team = team
        self.life = life if life is not None else lives(team)
        self.past_files = past_files
        self.force = force
        self.on = on
        self.many = many
        self.judge = Judge(force.book, force.sure)
        self.writer = FindingWriter(team, force.book)
        self.concessions = Concessions(force.concessions, on, partial(event_id, team))
        self._last: tuple[Path, list[Damper]] | None = None
        self._unchecked: dict[Path, list[Finding]] = {}

    # --- builds ----------------------------------------------------------------------------------

    def builds(self, paths: Sequence[Path], files: set[Path]) -> Iterator[Judged]:
        """Judge the builds in some files; adds the files that they stand on."""
        read: list[tuple[FileRead, Build, set[Path], list[Damper]]] = []
        for path in paths:
            found = self.team.file(path)
            if not isinstance(found.model, Build):
                files.add(path)
                continue
            used = used_by(self.team, found.model)
            files |= used if self.past_files else {p for p in used if self.life.get(p) != "past"}
            if found.faults or not self.many:
                files.add(path)
            read.append((found, found.model, used, dampers(self.team, found)))
        in_full = (
            (lambda rule: rule in self.concessions.rules) if self.many else (lambda rule: True)
        )
        outcomes = self.judge.outcomes([made for *_, made in read], in_full)
        together = tuple(found.path for found, *_ in read)
        for (found, model, used, made), outcome in zip(read, outcomes, strict=True):
            judged = self._judged(found, model, made, outcome, together)
            judged.waits = bool(found.faults) or any(self.team.file(p).faults for p in used)
            yield judged

    def _judged(
        self,
        found: FileRead,
        model: Build,
        made: list[Damper],
        outcome: Outcome,
        together: tuple[Path, ...],
    ) -> Judged:
        judged = Judged.of(found.path, model.car, model.event, self.life[found.path], outcome.held)
        levels = list(outcome.unchecked)
        unchecked: list[Judgement] = []
        for judgement in each_cause_once(
            outcome.others, lambda j: self.concessions.of(j, found.id) is not None
        ):
            for part in self.concessions.parts(judgement, found.id):
                if part.verdict == "not checked":
                    self.concessions.note(part, found.id)
                    levels.append(part.rule.level)
                    unchecked.append(part)
                    continue
                finding = self.concessions.conceded(self.writer.of(part, found))
                if finding.level == "must" and finding.verdict == "fails":
                    # told in every report: while its file is at hand
                    finding = self.writer.placed(finding)
                judged.counts.add("conceded" if finding.concession else finding.verdict)
                judged.drafts.append(finding)
        judged.counts.not_checked = len(levels)
        judged.musts_not_checked = levels.count("must")
        judged.place = self.writer.placed
        judged.held_on = partial(self._holding, found.path)
        path = found.path
        if self.many:
            judged.make = partial(self._made_again, path)
            judged.later = partial(self._unchecked_again, together, path)
        else:
            judged.make = lambda: made
            judged.later = lambda: [self.writer.placed(self.writer.of(j, found)) for j in unchecked]
            for number, finding in enumerate(judged.drafts):
                if self.force.book[finding.rule].turn:
                    # solved when a report asks for it
                    solve = cache(partial(self._cure, judged, finding))
                    judged.drafts[number] = replace(finding, solve=solve)
        if self.many and not found.faults:
            # of many, what is judged is counted and let go
            self.team.forget(path)
            self.writer.forget(path)
        return judged

    def _unchecked_again(self, together: tuple[Path, ...], path: Path) -> list[Finding]:
        """Return the findings on what was not checked in one of many builds.

        They are not kept: the builds that were judged together with it are judged again, and the
        findings of these are kept until those of others are asked for.
        """
        if path not in self._unchecked:
            self._unchecked.clear()
            read = [self.team.file(each) for each in together]
            outcomes = self.judge.outcomes([dampers(self.team, each) for each in read])
            for found, outcome in zip(read, outcomes, strict=True):
                self._unchecked[found.path] = [
                    self.writer.placed(self.writer.of(part, found))
                    for judgement in outcome.others
                    if judgement.verdict == "not checked"
                    for part in self.concessions.parts(judgement, found.id)
                ]
                self.team.forget(found.path)
                self.writer.forget(found.path)
        return self._unchecked[path]

    def _holding(self, path: Path) -> list[Finding]:
        """Return the findings on what holds in a build, which is judged again for them."""
        found = self.team.file(path)
        judgements = self.judge.judge(dampers(self.team, found))
        held = [self.writer.of(j, found) for j in judgements if j.verdict == "holds"]
        return [self.writer.placed(finding) for finding in held]

    def _made_again(self, path: Path) -> list[Damper]:
        """Return the dampers of one of many builds; the last ones are kept for its next finding."""
        if self._last is None or self._last[0] != path:
            self._last = path, dampers(self.team, self.team.file(path))
            self.team.forget(path)
        return self._last[1]

    def _cure(self, judged: Judged, finding: Finding) -> Cure:
        # a sound build has nothing to mend
        from buildlint.judging.cures import cure

        rule = self.force.book[finding.rule]
        return cure(self.judge, rule, finding.subject, judged.dampers, self.team)

    # --- the whole team --------------------------------------------------------------------------

    def inspect(
        self,
        builds: Sequence[Path],
        files: set[Path],
        inspection: Inspection,
        progress: Progress | None,
    ) -> None:
        """Judge builds, and look at files and at every file that a build stands on.

        What is found goes into the inspection.
        """
        inspection.changes += self.force.changes
        inspection.rules.update(self.force.book.rules)
        found: list[Judged] = []
        if self.many:
            files -= set(builds)
        for start in range(0, len(builds), AT_A_TIME):
            if progress is not None:
                progress(start, len(builds))
            found += self.builds(builds[start : start + AT_A_TIME], files)
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
        """Return the findings about concessions that are over, or that nothing needs."""
        settings, book = self.force.settings, self.force.book.rules
        if settings is None:
            return
        by_id = self.team.by_id("build")
        life = {ident: self.life[path] for ident, path in by_id.items()}
        judged = {build.id for build in found if life[build.id] != "past"}
        waiting = {build.id for build in found if build.waits}
        left_out = {c.rule for c in self.force.changes if c.kind == "left out"}
        if "file/concession-expired" in book:
            for concession in self.concessions.over(judged, life):
                yield self.writer.concession_expired(concession, settings, self.on)
        if "file/concession-unused" in book:
            for concession in self.concessions.unused(judged, life, waiting):
                # rules that were given may leave out one that a concession is for
                if concession.rule in book or concession.rule in left_out:
                    yield self.writer.concession_unused(concession, settings)


# --- what is asked for ---------------------------------------------------------------------------


def inspect_team(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]] = ".",
    *,
    rulebook: Rulebook | None = None,
    past: bool = False,
    on: datetime.date | None = None,
    progress: Progress | None = None,
) -> Inspection:
    """Judge the builds that the paths mean: a file of any kind, a folder, or the id of a build.

    A changed car, part or event judges every build that uses it. A past build is judged where its
    file is named, or all are with `past`; of others only the file is looked at. A `rulebook` stands
    in for all rules in force, the team's own included. Concessions count as on the day `on` (left
    out: today). `progress` is told how many builds are judged, of how many in this repository.
    Raises PathError where a path is missing or none of ours, or where there is nothing to judge;
    RulebookError and SettingsError where rules or settings cannot be used; TypeError or ValueError
    where another argument is not what belongs there. Nothing is printed.

    >>> found = inspect_team(["examples/saltmarsh"])
    >>> found.passes(), found.counts.fails
    (True, 0)
    """
    day = day_of(on)
    check_rulebook(rulebook)
    if not isinstance(past, bool):
        raise TypeError("past is True or False")
    if progress is not None and not callable(progress):
        raise TypeError("progress is a function of two numbers: how many, and of how many")
    by_root = _by_root(paths)
    inspection = Inspection(on=day)
    left_out = 0
    for root, given in sorted(by_root.items()):
        near = (p for p in given if is_ours(p.name) or _is_nearly_a_rule(p, root))
        team = Team(root, {*files_below(root), *filter(os.path.lexists, near)})
        builds, files = meant(team, given)
        if not builds and not any(path.is_dir() for path in given):
            inspection.looked_at += len(files)
        life, force = lives(team), rules_in_force(root, rulebook)
        passed_over = force.passed_over(root, builds) - set(given)
        files -= passed_over
        builds = [path for path in builds if path not in passed_over]
        left_out += len(passed_over)
        named = set(team.paths("build") if past else given)
        over = {path for path in builds if life[path] == "past"} - named
        inspection.past += only_mistakes(team, sorted(over), files)
        builds = [path for path in builds if path not in over]
        inspector = Inspector(team, force, inspection.on, len(builds) > MANY, life)
        inspector.inspect(builds, files, inspection, progress)
    judged = inspection.builds or inspection.past or left_out
    if not (judged or inspection.in_files or inspection.looked_at):
        raise PathError("there are no builds here: a build is a file named NAME.build.toml")
    return inspection


def _by_root(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
) -> dict[Path, list[Path]]:
    """Return the paths by the root of the team that each belongs to; some to several."""
    by_root: dict[Path, list[Path]] = {}
    if not isinstance(paths, (str, os.PathLike, Iterable)):
        raise TypeError("a path is text, or a pathlib.Path; several are a list of them")
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else paths:
        path = Path(os.path.abspath(path_of(given)))  # noqa: PTH100 - resolve() would follow links
        if not os.path.lexists(path):
            try:
                path = find_build(given)[1]
            except PathError:
                hint = files_meant(str(given))
                text = f"there is no file or folder {clean(str(given))}{hint}"
                raise PathError(text) from None
        for root in roots_of(path):
            by_root.setdefault(root, []).append(path)
    return by_root


def _is_nearly_a_rule(path: Path, root: Path) -> bool:
    return path.is_relative_to(root) and meant_rule(path.relative_to(root)) is not None


def inspect_build(
    build: BuildLike,
    team: Team | None = None,
    *,
    rulebook: Rulebook | None = None,
    name: str = "in-memory",
    on: datetime.date | None = None,
) -> Inspection:
    """Judge one build by the rules of its team.

    The build is the path of its file or its id, a `Build`, or a table with the keys of a
    NAME.build.toml (readings and dates as text, as JSON has them). One that stands in no file needs
    the team that has its car, event and parts; `name` is then the id that it goes by, and that of
    a build of the team stands in its place. `rulebook` and `on` as for `inspect_team`. What a team
    has read is not read again. Mistakes in the build are findings.

    Raises PathError for a build that is not there and for a name that cannot be an id, TypeError
    for what is no build, team, rulebook or day, RulebookError and SettingsError where rules or
    settings cannot be used.

    >>> from buildlint import load_team
    >>> half = {"piston": "four-18", "oil": "o450", "bladder": "small", "hold_back": "0 mm"}
    >>> bench = {"on": "2027-06-05", "temperature": "16 degC", "altitude": "5 m"}
    >>> build = {"car": "heron", "bench": bench, "front": half, "rear": half}
    >>> found = inspect_build(build, load_team("examples/saltmarsh"))
    >>> [f.subject for f in found.findings if f.rule == "bladder/into-body-room"]
    ['front', 'rear']
    """
    day = day_of(on)
    check_rulebook(rulebook)
    with_it, path = build_of(build, team, name)
    inspection = Inspection(on=day)
    force = rules_of(with_it if team is None else team, rulebook)
    Inspector(with_it, force, day).inspect([path], {path}, inspection, None)
    return inspection
