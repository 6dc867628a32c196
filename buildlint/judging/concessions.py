"""What a team's concessions do to what was found, and which of them nothing needs."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from buildlint.files.concession import Concession
from buildlint.judging.finding import Finding
from buildlint.judging.judgement import Judgement
from buildlint.measures.damper import Damper

__all__ = ["Concessions"]


class Concessions:
    """The leave that a team gives on a day; remembers which concession was of use."""

    def __init__(self, concessions: Sequence[Concession], on: datetime.date) -> None:
        """Take the concessions, and the day for which they count."""
        self._all = tuple(concessions)
        self._on = on
        self._by_rule: dict[str, list[Concession]] = {}
        for leave in concessions:
            self._by_rule.setdefault(leave.rule, []).append(leave)
        #: The rules that concessions are for.
        self.rules = frozenset(self._by_rule)
        #: The numbers of those that were of use.
        self.used: set[int] = set()

    def parts(self, judgement: Judgement, build: str) -> Iterator[Judgement]:
        """Return the judgement; in parts where leave was given for some of them only."""
        whole = judgement.measure.of or judgement.rule.compares_sides
        narrower = not whole and any(
            leave.covers_part(judgement.rule.id, build, judgement.subject)
            for leave in self._by_rule.get(judgement.rule.id, ())
            if not leave.expired(self._on)
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
            leave.number
            for leave in self._by_rule.get(judgement.rule.id, ())
            if leave.covers(judgement.rule.id, build, judgement.subject)
        )

    def conceded(self, finding: Finding) -> Finding:
        """Return the finding with the team's leave, where there is one and it is not over."""
        covering = [
            leave
            for leave in self._by_rule.get(finding.rule, ())
            if leave.covers(finding.rule, finding.build, finding.subject)
        ]
        self.used.update(leave.number for leave in covering)
        leave = self._longest(covering)
        if leave is None:
            return finding
        return replace(finding, concession=leave)

    def of(self, judgement: Judgement, build: str) -> Concession | None:
        """Return the leave for what was judged, where there is one and it is not over."""
        if judgement.verdict not in ("fails", "borderline"):
            return None
        given = self._by_rule.get(judgement.rule.id, ())
        return self._longest(
            [c for c in given if c.covers(judgement.rule.id, build, judgement.subject)]
        )

    def _longest(self, covering: Sequence[Concession]) -> Concession | None:
        valid = [leave for leave in covering if not leave.expired(self._on)]
        return max(valid, key=lambda leave: leave.until, default=None)

    def over(
        self, judged: Collection[str], all_judged: bool, past: Collection[str] = ()
    ) -> Iterator[Concession]:
        """Return the concessions for the builds that were judged whose last day is gone.

        One that is for a past build is passed over.
        """
        for leave in self._all:
            if leave.build in past:
                continue
            if leave.expired(self._on) and (all_judged or leave.build in judged):
                yield leave

    def unused(
        self,
        judged: Collection[str],
        all_judged: bool,
        waiting: Collection[str],
        past: Collection[str] = (),
    ) -> Iterator[Concession]:
        """Return the concessions that nothing needs.

        One that is for a past build is passed over. Of one that may be for a build that was not
        judged now, or that is waiting for a mistake in a file to be mended, that cannot be said.
        """
        for leave in self._all:
            waits = leave.build in waiting if leave.build is not None else bool(waiting)
            passed_over = leave.expired(self._on) or leave.build in past
            if leave.number in self.used or passed_over or waits:
                continue
            if all_judged or leave.build in judged:
                yield leave
