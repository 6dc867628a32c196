"""Two builds held against each other: what was written otherwise, and what the dampers do then."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, NamedTuple

from buildlint.files.models import Build
from buildlint.files.tables import nothing_of
from buildlint.judging.differences import Differences
from buildlint.judging.figure_changes import FigureChange, Lines, by_corner, figure_changes
from buildlint.judging.figures import figure_lines
from buildlint.judging.finding import BADNESS, Verdict
from buildlint.judging.finding_writer import mistakes_in
from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.reading_changes import Change, reading_changes
from buildlint.judging.rule import Rule
from buildlint.judging.rules_in_force import InForce, RuleChange, rules_of
from buildlint.judging.subjects import corners_of, told_together
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from buildlint.team.repository import Team
from buildlint.team.selection import build_of
from buildlint.text.errors import PathError
from buildlint.text.words import clean, seen_from_here, shown

__all__ = ["Compared", "Comparison", "VerdictChange", "compare"]


@dataclass(frozen=True, slots=True)
class Compared:
    """One of the two builds: its id, its file, the car and event that it is for.

    `revision` and `commit` say which git revision it was read from; None for what is on the disk.
    """

    build: str
    file: str
    car: str | None
    event: str | None
    revision: str | None = None
    commit: str | None = None


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """A rule whose verdict, at its worst condition, is another one now.

    Of what left and right differ by too, which is no figure of either side. A verdict is None where
    the rule does not speak of that build. `caution` is the rule's, where it fails now.
    """

    rule: str
    level: Literal["must", "should"]
    title: str
    subject: str
    old: Verdict | None
    new: Verdict | None
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed between two builds.

    `changes` are readings, `figures` what the dampers do; those within tolerance come last. `same`
    counts the figures that are the same, `not_known` those that can be worked out on neither side.
    `mistakes` are those in the files of both that keep something from being worked out, one line
    each: FILE:LINE:COL: what is wrong. `rules_changed` are the ways in which the rules of
    today differ from those that come with buildlint.
    """

    old: Compared
    new: Compared
    changes: tuple[Change, ...]
    figures: tuple[FigureChange, ...]
    verdicts: tuple[VerdictChange, ...]
    same: int
    not_known: int
    mistakes: tuple[str, ...] = ()
    rules_changed: tuple[RuleChange, ...] = ()

    @property
    def changed(self) -> bool:
        """Whether anything is not the same."""
        return bool(self.changes or self.figures or self.verdicts)


def compare(
    old: str | os.PathLike[str], new: str | os.PathLike[str], team: Team | None = None
) -> Comparison:
    """Compare two builds: the readings that they stand on, and every measure at every condition.

    Each is given by the path of its file, or by its id in the repository of the working directory;
    with a team, one of its builds as the team has read it.
    `old` may also be a git revision: then it is the build `new` as its file was in that revision,
    with the cars, parts and events as they were then. A file or an id wins over a revision of the
    same name. Both are judged by the rules in force today, each by those of its own repository.
    Raises PathError where there is no such build or revision, SettingsError and RulebookError where
    settings or rules cannot be used. Nothing is printed.

    >>> there = "examples/saltmarsh/builds"
    >>> found = compare(f"{there}/heron-estuary.build.toml", f"{there}/heron-quarry.build.toml")
    >>> [(c.old, c.new) for c in found.changes if c.where == "front oil"]
    [('o350', 'o450')]
    """
    now = _Build(*build_of(new, team))
    was = _Build.of_old(old, now, team)
    force = rules_of(now.team)
    same_root = was.team.root == now.team.root
    was_force = force if same_root else rules_of(was.team)
    was_found, now_found = _Judged.of(was, was_force), _Judged.of(now, force)
    differences = Differences(
        was_found.dampers, now_found.dampers, same_root and _car(was) == _car(now)
    )
    figures, same, not_known = figure_changes(
        was_found.lines, now_found.lines, differences.within_tolerance
    )
    changes = reading_changes(
        (was.team, was.team.file(was.path)), (now.team, now.team.file(now.path))
    )
    return Comparison(
        was.compared(),
        now.compared(),
        changes,
        figures,
        _verdicts(was_found, now_found),
        same,
        not_known,
        tuple(dict.fromkeys((*was_found.mistakes, *now_found.mistakes))),
        tuple(dict.fromkeys((*was_force.changes, *force.changes))),
    )


# --- which builds --------------------------------------------------------------------------------


def _car(build: _Build) -> str | None:
    model = build.team.file(build.path).model
    return model.car if isinstance(model, Build) else None


class _Build(NamedTuple):
    """A build's file with its team, and the revision that it was read from."""

    team: Team
    path: Path
    revision: str | None = None
    commit: str | None = None

    @classmethod
    def of_old(cls, given: str | os.PathLike[str], now: _Build, team: Team | None) -> _Build:
        """Give the build that OLD means: a file or an id, else a revision of the other build."""
        try:
            return cls(*build_of(given, team))
        except PathError as error:
            no_build = error
        from buildlint.team.git import without_history
        from buildlint.team.revision import NoCommitError, commit_of, team_at

        revision = os.fspath(given)
        root = now.team.root
        try:
            commit = commit_of(root, revision)
        except NoCommitError as error:
            here = clean(seen_from_here(root))
            nor = f"nor is it a git revision of the repository at {here} ({error})"
            raise PathError(f"{no_build}; {nor}{without_history(root)}") from None
        except PathError as error:
            raise PathError(f"{no_build}; nor is it a git revision: {error}") from None
        team = team_at(root, commit)
        if now.path not in team.paths("build"):
            name = clean(team.relative(now.path))
            raise PathError(f"there is no file {name} in the revision {shown(revision)}")
        return cls(team, now.path, revision, commit)

    def compared(self) -> Compared:
        found = self.team.file(self.path)
        model = found.model if isinstance(found.model, Build) else nothing_of(Build)
        file = seen_from_here(self.path)
        return Compared(found.id, file, model.car, model.event, self.revision, self.commit)


class _Judged(NamedTuple):
    """What the dampers of a build do, by corner (or "car"), measure and condition."""

    lines: Lines
    dampers: list[Damper]
    verdicts: dict[tuple[str, str], Verdict]
    rules: dict[str, Rule]
    mistakes: tuple[str, ...]

    @classmethod
    def of(cls, build: _Build, force: InForce) -> _Judged:
        made = dampers(build.team, build.team.file(build.path))
        judgements = Judge(force.book, force.sure).judge(made, at_each=True)
        lines = by_corner(figure_lines(made, judgements))
        mistakes = mistakes_in(build.team, build.path, force.book)
        if build.revision is not None:
            mistakes = tuple(f"as it was in {shown(build.revision)}: {m}" for m in mistakes)
        return cls(lines, made, _worst_by_corner(judgements), dict(force.book.rules), mistakes)


# --- what the rules say --------------------------------------------------------------------------


def _worst_by_corner(judgements: Iterable[Judgement]) -> dict[tuple[str, str], Verdict]:
    """Return the worst verdict of each rule on each corner, or on each end that it compares."""
    worst: dict[tuple[str, str], Verdict] = {}
    for judgement in judgements:
        rule, verdict = judgement.rule, judgement.verdict
        whole = rule.compares_sides or judgement.measure.of
        for subject in (judgement.subject,) if whole else corners_of(judgement.subject):
            key = (rule.id, subject)
            worst[key] = max(worst.get(key, verdict), verdict, key=BADNESS.__getitem__)
    return worst


def _verdicts(was: _Judged, now: _Judged) -> tuple[VerdictChange, ...]:
    changed: dict[str, dict[str, tuple[Verdict | None, Verdict | None]]] = {}
    for key in {**was.verdicts, **now.verdicts}:
        verdicts = (was.verdicts.get(key), now.verdicts.get(key))
        if verdicts[0] != verdicts[1]:
            rule, subject = key
            changed.setdefault(rule, {})[subject] = verdicts
    found = [
        _verdict_change(now.rules.get(ident) or was.rules[ident], subject, *verdicts)
        for ident, by_subject in changed.items()
        for subject, verdicts in _by_subject(by_subject)
    ]

    def order(change: VerdictChange) -> tuple[int, bool, str, str]:
        return (
            -BADNESS[change.new] if change.new is not None else 1,
            change.level != "must",
            change.rule,
            change.subject,
        )

    return tuple(sorted(found, key=order))


def _verdict_change(
    rule: Rule, subject: str, old: Verdict | None, new: Verdict | None
) -> VerdictChange:
    caution = rule.caution if new == "fails" else ""
    return VerdictChange(rule.id, rule.level, rule.title, subject, old, new, caution)


def _by_subject(
    found: Mapping[str, tuple[Verdict | None, Verdict | None]],
) -> Iterator[tuple[str, tuple[Verdict | None, Verdict | None]]]:
    corners = {subject: verdicts for subject, verdicts in found.items() if "." in subject}
    yield from told_together(corners)
    yield from ((s, verdicts) for s, verdicts in found.items() if "." not in s)
