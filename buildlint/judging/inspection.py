"""What an inspection gives: each build as judged, and what was found in files."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from buildlint.files.names import kind_and_id
from buildlint.judging.finding import Counts, Finding, HeldOn, gravity, handed, made_again
from buildlint.judging.rule import Rule
from buildlint.judging.rules_in_force import RuleChange
from buildlint.measures.damper import Damper
from buildlint.team.life import Life
from buildlint.text.words import clean, counted, seen_from_here

__all__ = ["MANY", "Inspection", "Judged"]

#: Beyond so many builds a sound one is told in one line, and little of it is kept.
MANY = 12


@dataclass(repr=False)
class Judged:
    """One build as judged: its file, its dampers, and what was found; its `counts` are of it alone.

    `life` says how far it has come: "plan", "built" or "past".
    `waits` says that a file which it stands on has a mistake. `held` are the rules that hold, each
    with the subject that it holds on; `musts_not_checked` counts what must hold and could not be
    checked. `drafts` are the findings on what fails, is borderline or is conceded, as they are
    before `place` has looked up where in its file each stands; `serious` has them in full, and
    `findings` those on what was not checked too. `make` gives the dampers: of more than MANY builds
    they are not kept.
    """

    id: str
    path: Path
    file: str
    car: str | None
    event: str | None
    life: Life = "built"
    drafts: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    waits: bool = False
    musts_not_checked: int = 0
    held: Sequence[HeldOn] = ()
    place: Callable[[Finding], Finding] = field(default=handed, compare=False, repr=False)
    make: Callable[[], list[Damper]] = field(default=list, compare=False, repr=False)
    later: Callable[[], list[Finding]] = field(default=list, compare=False, repr=False)
    held_on: Callable[[], list[Finding]] = field(default=list, compare=False, repr=False)

    @cached_property
    def serious(self) -> list[Finding]:
        """The findings on what fails, is borderline or is conceded."""
        self.drafts = [self.place(draft) for draft in self.drafts]
        return self.drafts

    @cached_property
    def unchecked(self) -> list[Finding]:
        """The findings on what was not checked."""
        return self.later()

    @property
    def findings(self) -> list[Finding]:
        """All findings but those on what holds: what fails first, then in the order of rules."""
        return sorted([*self.serious, *self.unchecked], key=_in_order)

    @property
    def holding(self) -> list[Finding]:
        """The findings on what holds; judged again for them, since few ask."""
        return self.held_on()

    def __repr__(self) -> str:
        fails = sum(f.verdict == "fails" and f.concession is None for f in self.drafts)
        return f"<Judged {clean(self.id)}: {self.counts.holds} hold, {fails} fail>"

    @property
    def dampers(self) -> list[Damper]:
        """The dampers of the build."""
        return self.make()

    def __reduce__(self) -> tuple[Any, ...]:
        """Return what a copy is made of: with the dampers, in the place of what makes them."""
        made = (self.dampers, self.unchecked, self.holding)
        make, later, held_on = (partial(handed, given) for given in made)
        again = {"make": make, "later": later, "held_on": held_on}
        return made_again(self, drafts=self.serious, place=handed, **again)

    @classmethod
    def of(
        cls,
        path: Path,
        car: str | None,
        event: str | None,
        life: Life,
        held: Sequence[HeldOn],
    ) -> Judged:
        """Return a build of which so far is found only what holds."""
        named = kind_and_id(path.name)
        ident = named[1] if named is not None else path.name
        counts = Counts(builds=1, holds=len(held))
        file = seen_from_here(path)
        return cls(ident, path, file, car, event, life, [], counts, held=held)


def _in_order(finding: Finding) -> tuple[int, str]:
    return gravity(finding), finding.rule


@dataclass(slots=True, repr=False)
class Inspection:
    """What an inspection found. `findings` has all but what holds, what fails first.

    `in_files` are the findings about how files are written, which belong to no one build;
    `looked_at` counts files that were named, are sound, and are used by no build. `changes` are
    the ways in which the teams' rules differ from those that come with buildlint, `rules` those
    that were judged by, `on` the day for which concessions count. `past` are the ids of past builds
    that were not judged.
    """

    builds: list[Judged] = field(default_factory=list)
    in_files: list[Finding] = field(default_factory=list)
    counts: Counts = field(default_factory=Counts)
    looked_at: int = 0
    changes: list[RuleChange] = field(default_factory=list)
    rules: dict[str, Rule] = field(default_factory=dict)
    on: datetime.date = field(default_factory=datetime.date.today)
    past: list[str] = field(default_factory=list)

    def __repr__(self) -> str:
        counts = self.counts
        return (
            f"<Inspection of {counted(counts.builds, 'build')}: {counts.holds} hold, "
            f"{counts.fails} fail, {counts.borderline} borderline, "
            f"{counts.not_checked} not checked>"
        )

    @property
    def findings(self) -> list[Finding]:
        """Return all findings but those on what holds: what fails first, then by build."""
        of_builds = (f for build in self.builds for f in build.findings)
        return sorted([*self.in_files, *of_builds], key=gravity)

    @property
    def every(self) -> list[Finding]:
        """Return all findings, those on what holds too."""
        return [*self.findings, *(f for build in self.builds for f in build.holding)]

    @property
    def serious(self) -> list[Finding]:
        """The findings but those on what was not checked, of which many builds have thousands."""
        of_builds = (sorted(build.serious, key=_in_order) for build in self.builds)
        return sorted([*self.in_files, *(f for found in of_builds for f in found)], key=gravity)

    @property
    def failing(self) -> list[Finding]:
        """The findings on what fails: of many builds nothing else is looked up in the files."""
        of_builds = (
            sorted((b.place(f) for f in b.drafts if f.verdict == "fails"), key=_in_order)
            for b in self.builds
        )
        in_files = (f for f in self.in_files if f.verdict == "fails")
        return sorted([*in_files, *(f for found in of_builds for f in found)], key=gravity)

    @property
    def drafts(self) -> list[Finding]:
        """The findings but those on what was not checked; of builds as they are without a place."""
        return [*self.in_files, *(f for build in self.builds for f in build.drafts)]

    def passes(self, should_too: bool = False) -> bool:
        """Return whether no must fails; with `should_too` no should either, and none is borderline.

        What is conceded stands in nobody's way.
        """
        return not any(
            (f.verdict == "fails" and (should_too or f.level == "must"))
            or (should_too and f.verdict == "borderline")
            for f in self.drafts
            if f.concession is None
        )
