"""Two builds held against each other: what was written otherwise, and what the dampers do then."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import isclose, isfinite
from pathlib import Path
from typing import Literal, NamedTuple

from buildlint.files.models import Build
from buildlint.files.reader import FileRead
from buildlint.files.tables import nothing_of
from buildlint.judging.driver import driver_lines
from buildlint.judging.figures import FigureLine, figure_lines
from buildlint.judging.finding import BADNESS, Verdict
from buildlint.judging.finding_writer import mistakes_in
from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.reading_changes import Change, reading_changes
from buildlint.judging.rule import Rule
from buildlint.judging.rules_in_force import InForce, RuleChange, rules_of
from buildlint.judging.subjects import SUBJECTS, both_by_subject, corners_of
from buildlint.judging.values import Differences
from buildlint.measures import MEASURES
from buildlint.measures.graph import CONDITIONS
from buildlint.team.assembly import dampers
from buildlint.team.repository import Team
from buildlint.team.selection import build_of
from buildlint.text.errors import PathError
from buildlint.text.words import clean, seen_from_here, shown

__all__ = [
    "Compared",
    "Comparison",
    "FigureChange",
    "VerdictChange",
    "by_corner",
    "compare",
    "figure_changes",
]


# Units with a zero of their own, or that are counted.
_NO_SHARES = ("degC", "step", "day")


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
class FigureChange:
    """A figure that is not the same in both builds, in the measure's unit.

    `old` and `new` are as `figures` gives them, but with the verdict at this very condition. Either
    is None where the measure says nothing of the damper (a sealed cap's pressure, of a vented one)
    or the build has no such condition; one that could not be worked out has no value, and says what
    is missing. `difference` is new less old. It is within tolerance where it is no more than the
    expanded uncertainty (k = 2) of that difference, in which what both builds share cancels.
    """

    subject: str
    measure: str
    condition: str | None
    unit: str | None
    old: FigureLine | None
    new: FigureLine | None
    difference: float | None
    within_tolerance: bool

    @property
    def ratio(self) -> float | None:
        """By what share of the old figure it changed; None where no share can be said of it."""
        old = self.old.value if self.old is not None else None
        if self.difference is None or not isinstance(old, float) or old <= 0.0:
            return None
        return None if self.unit in _NO_SHARES else self.difference / old

    @property
    def verdict_changed(self) -> bool:
        """Whether the rules say another thing of it now."""
        verdicts = [line.verdict if line is not None else None for line in (self.old, self.new)]
        return verdicts[0] != verdicts[1]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed between two builds.

    `driver` is what a driver feels of it, in three lines. `changes` are readings, `figures` what
    the dampers do; those within tolerance come last. `same` counts the figures that are the same,
    `not_known` those that can be worked out on neither side. `mistakes` are those in the files of
    both that keep something from being worked out, one line each: FILE:LINE:COL: what is wrong.
    `rules_changed` are the ways in which the rules of today differ from those that come with
    buildlint.
    """

    old: Compared
    new: Compared
    changes: tuple[Change, ...]
    figures: tuple[FigureChange, ...]
    verdicts: tuple[VerdictChange, ...]
    same: int
    not_known: int
    driver: tuple[str, ...] = ()
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
    same_root = was.team.root == now.team.root
    force = rules_of(now.team)
    old_force = force if same_root else rules_of(was.team)
    old_dampers, new_dampers = dampers(was.team, was.file), dampers(now.team, now.file)
    old_judged = Judge(old_force.book, old_force.sure).judge(old_dampers, at_each=True)
    new_judged = Judge(force.book, force.sure).judge(new_dampers, at_each=True)
    same_car = same_root and was.model.car == now.model.car
    lines = (
        by_corner(figure_lines(old_dampers, old_judged)),
        by_corner(figure_lines(new_dampers, new_judged)),
    )
    within = Differences(old_dampers, new_dampers, same_car).within_tolerance
    figures, same, not_known = figure_changes(*lines, within)
    return Comparison(
        was.compared(),
        now.compared(),
        reading_changes((was.team, was.file, old_dampers), (now.team, now.file, new_dampers)),
        figures,
        _verdict_changes(old_judged, new_judged, {**old_force.book.rules, **force.book.rules}),
        same,
        not_known,
        driver_lines(*lines, within),
        tuple(dict.fromkeys((*was.mistakes(old_force), *now.mistakes(force)))),
        tuple(dict.fromkeys((*old_force.changes, *force.changes))),
    )


# --- which builds --------------------------------------------------------------------------------


class _Build(NamedTuple):
    """A build's file with its team, and the revision that it was read from."""

    team: Team
    path: Path
    revision: str | None = None
    commit: str | None = None

    @classmethod
    def of_old(cls, given: str | os.PathLike[str], now: _Build, team: Team | None) -> _Build:
        """Return the build that OLD means: a file or an id, else a revision of the other build."""
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

    @property
    def file(self) -> FileRead:
        return self.team.file(self.path)

    @property
    def model(self) -> Build:
        return self.file.model if isinstance(self.file.model, Build) else nothing_of(Build)

    def compared(self) -> Compared:
        file, model = seen_from_here(self.path), self.model
        return Compared(self.file.id, file, model.car, model.event, self.revision, self.commit)

    def mistakes(self, force: InForce) -> Iterator[str]:
        then = f"as it was in {shown(self.revision)}: " if self.revision is not None else ""
        return (f"{then}{mistake}" for mistake in mistakes_in(self.team, self.path, force.book))


# --- what the rules say --------------------------------------------------------------------------


def _verdict_changes(
    old: Iterable[Judgement], new: Iterable[Judgement], rules: Mapping[str, Rule]
) -> tuple[VerdictChange, ...]:
    was, now = _worst_by_corner(old), _worst_by_corner(new)
    found: list[VerdictChange] = []
    for ident in {**was, **now}:
        rule = rules[ident]
        for subject, pair in both_by_subject(was.get(ident, {}), now.get(ident, {})):
            if pair[0] != pair[1]:
                caution = rule.caution if pair[1] == "fails" else ""
                found.append(VerdictChange(ident, rule.level, rule.title, subject, *pair, caution))

    def order(change: VerdictChange) -> tuple[int, bool, str, str]:
        worst = -BADNESS[change.new] if change.new is not None else 1
        return worst, change.level != "must", change.rule, change.subject

    return tuple(sorted(found, key=order))


def _worst_by_corner(judgements: Iterable[Judgement]) -> dict[str, dict[str, Verdict]]:
    """Return the worst verdict of each rule on each corner, or on each end that it compares."""
    worst: dict[str, dict[str, Verdict]] = {}
    for judgement in judgements:
        rule, verdict = judgement.rule, judgement.verdict
        here = worst.setdefault(rule.id, {})
        whole = rule.compares_sides or judgement.measure.of
        for subject in (judgement.subject,) if whole else corners_of(judgement.subject):
            here[subject] = max(here.get(subject, verdict), verdict, key=BADNESS.__getitem__)
    return worst


# --- what the dampers do -------------------------------------------------------------------------

# The figures of a build, by measure and condition, then by corner (or "car").
_Lines = dict[tuple[str, str | None], dict[str, FigureLine]]
_Pair = tuple[FigureLine | None, FigureLine | None]

# What matters most at the event: room used, damping ratio, balances, then what the rules say.
_ROOM = ("into_body_use", "into_cap_use", "emulsion_use", "road_use", "after_flight_use")
_BALANCES = ("damping_balance", "frequency_balance")
_FIRST = dict.fromkeys(_ROOM, 0) | {"damping_ratio": 1} | dict.fromkeys(_BALANCES, 2)
_VERDICT, _REST = 3, 4

_CONDITIONS = [*(c for c in CONDITIONS if c != "bench"), "bench", None]
_MEASURES = list(MEASURES)


def by_corner(lines: Iterable[FigureLine]) -> _Lines:
    """Return the lines of a build for each corner, however they are told; those of the car as such.

    So that they can be held against another's, where left and right are alike or are not.
    """
    found: _Lines = {}
    for line in lines:
        here = found.setdefault((line.measure, line.condition), {})
        for corner in ("car",) if MEASURES[line.measure].of else corners_of(line.subject):
            here[corner] = replace(line, subject="")
    return found


def figure_changes(
    old: _Lines, new: _Lines, within: Callable[[str, str | None, str], bool]
) -> tuple[tuple[FigureChange, ...], int, int]:
    """Return the figures that differ, and count those that do not and those that nobody knows.

    `within` tells of a measure, a condition and a corner (or "car") whether the difference is
    within tolerance.
    """
    found: list[FigureChange] = []
    same = not_known = 0
    for key in {**old, **new}:
        for subject, pair in both_by_subject(old.get(key, {}), new.get(key, {})):
            if all(line is None or line.missing for line in pair):
                not_known += 1
            elif _same(*pair):
                same += 1
            else:
                found.append(_figure_change(subject, *key, pair, within))
    told = {(f.within_tolerance, f.measure) for f in found if f.verdict_changed}

    def order(change: FigureChange) -> tuple[bool, int, int, int, int]:
        what = (change.within_tolerance, change.measure)
        return (
            change.within_tolerance,
            _FIRST.get(change.measure, _VERDICT if what in told else _REST),
            _MEASURES.index(change.measure),
            SUBJECTS.index(change.subject),
            _CONDITIONS.index(change.condition),
        )

    return tuple(sorted(found, key=order)), same, not_known


def _same(old: FigureLine | None, new: FigureLine | None) -> bool:
    if old is None or new is None:
        return False
    return all(
        isclose(one, other) if isinstance(one, float) and isinstance(other, float) else one == other
        for one, other in (
            (getattr(old, name), getattr(new, name))
            for name in ("value", "uncertainty_up", "uncertainty_down", "verdict", "missing")
        )
    )


def _figure_change(
    subject: str,
    measure: str,
    condition: str | None,
    pair: _Pair,
    within_tolerance: Callable[[str, str | None, str], bool],
) -> FigureChange:
    old, new = (replace(line, subject=subject) if line is not None else None for line in pair)
    unit = next((line.unit for line in (new, old) if line is not None), None)
    difference = None
    within = False
    if old is not None and new is not None:
        if isinstance(old.value, float) and isinstance(new.value, float):
            if isfinite(old.value) and isfinite(new.value):
                difference = new.value - old.value
            at = "car" if MEASURES[measure].of else corners_of(subject)[0]
            within = within_tolerance(measure, condition, at)
        else:
            within = old.value == new.value  # words; of what is missing in one they differ
    return FigureChange(subject, measure, condition, unit, old, new, difference, within)
