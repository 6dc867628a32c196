"""What a team's concessions do to what was found, and which of them nothing needs."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from buildlint.files.concession import Concession
from buildlint.judging.finding import Finding
from buildlint.judging.judgement import Judgement
from buildlint.measures.damper import Damper
from buildlint.team.life import Life

__all__ = ["Concessions"]


class Concessions:
    """The leave that a team gives on a day; remembers which concession was of use."""

    def __init__(
        self,
        concessions: Sequence[Concession],
        on: datetime.date,
        event_of: Callable[[str], str | None],
    ) -> None:
        """Take the concessions, the day for which they count, and what a build's event is by id."""
        self._all = tuple(concessions)
        self._on = on
        self._event_of = event_of
        self._by_rule: dict[str, list[Concession]] = {}
        for each in concessions:
            self._by_rule.setdefault(each.rule, []).append(each)
        #: The rules that concessions are for.
        self.rules = frozenset(self._by_rule)
        #: The numbers of those that were of use.
        self.used: set[int] = set()

    def parts(self, judgement: Judgement, build: str) -> Iterator[Judgement]:
        """Return the judgement; in parts where leave was given for some of them only."""
        whole = judgement.measure.of or judgement.rule.compares_sides
        narrower = not whole and any(
            each.covers_part(judgement.rule.id, judgement.subject)
            for each in self._given(judgement.rule.id, build)
            if not each.expired(self._on)
        )
        if not narrower:
            yield judgement
            return
        groups: dict[str, list[Damper]] = {}
        for damper in judgement.dampers:
            part = damper.end if judgement.subject == "car" else damper.corner
            groups.setdefault(part, []).append(damper)
        for subject, dampers in groups.items():
            yield from self.parts(
                replace(judgement, subject=subject, dampers=tuple(dampers)), build
            )

    def note(self, judgement: Judgement, build: str) -> None:
        """Take as of use the concessions for what was not checked: it may yet need one."""
        self.used.update(
            each.number
            for each in self._given(judgement.rule.id, build)
            if each.covers(judgement.rule.id, judgement.subject)
        )

    def conceded(self, finding: Finding) -> Finding:
        """Return the finding with the team's leave, where there is one and it is not over."""
        covering = [
            each
            for each in self._given(finding.rule, finding.build)
            if each.covers(finding.rule, finding.subject)
        ]
        self.used.update(each.number for each in covering)
        longest = self._longest(covering)
        if longest is None:
            return finding
        return replace(finding, concession=longest)

    def of(self, judgement: Judgement, build: str) -> Concession | None:
        """Return the leave for what was judged, where there is one and it is not over."""
        if judgement.verdict not in ("fails", "borderline"):
            return None
        given = self._given(judgement.rule.id, build)
        return self._longest([c for c in given if c.covers(judgement.rule.id, judgement.subject)])

    def _given(self, rule: str, build: str | None) -> list[Concession]:
        """Return the leave that was given for a rule, of a build."""
        return [each for each in self._by_rule.get(rule, ()) if self._is_for(each, build)]

    def _is_for(self, each: Concession, build: str | None) -> bool:
        event = None if each.event is None or build is None else self._event_of(build)
        return each.is_for(build, event)

    def _longest(self, covering: Sequence[Concession]) -> Concession | None:
        valid = [each for each in covering if not each.expired(self._on)]
        return max(valid, key=lambda each: each.until, default=None)

    def over(self, judged: Collection[str], lives: Mapping[str, Life]) -> Iterator[Concession]:
        """Return the concessions whose last day is gone, of builds that were judged.

        `lives` says how far each of the team's builds has come. One that is for past builds alone
        is passed over.
        """
        for each in self._all:
            if each.expired(self._on) and self._is_settled(each, judged, lives):
                yield each

    def unused(
        self, judged: Collection[str], lives: Mapping[str, Life], waiting: Collection[str]
    ) -> Iterator[Concession]:
        """Return the concessions that nothing needs.

        One that is for past builds alone is passed over. Of one that may be for a build that was
        not judged now, or that is waiting for a mistake in a file to be mended, that cannot be
        said.
        """
        for each in self._all:
            waits = any(self._is_for(each, build) for build in waiting)
            if each.number in self.used or each.expired(self._on) or waits:
                continue
            if self._is_settled(each, judged, lives):
                yield each

    def _is_settled(
        self, each: Concession, judged: Collection[str], lives: Mapping[str, Life]
    ) -> bool:
        """Return whether all builds that it is for were judged, and not all of them are past."""
        its = {build for build in lives if self._is_for(each, build)}
        now = {build for build in its if lives[build] != "past"}
        if not its:
            # it is for none of the team's builds: that is known once all of them were judged
            now = {build for build in lives if lives[build] != "past"}
            return now <= set(judged)
        return bool(now) and now <= set(judged)
